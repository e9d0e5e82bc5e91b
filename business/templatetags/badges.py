"""States in words and a sign. The colour comes last: word and sign alone must do on a grey copy."""

from __future__ import annotations

from dataclasses import dataclass

from django import template

register = template.Library()


@dataclass(frozen=True)
class Badge:
    """How one state is shown. ``detailed`` is the wording when a detail is known; ``{}`` stands for it."""

    words: str
    shape: str = ""
    dress: str = "stone"
    detailed: str = "{}"

    def told(self, detail: str) -> str:
        return self.detailed.format(detail) if detail else self.words


BADGES: dict[str, dict[str, Badge]] = {
    "visit": {
        "proposed": Badge("Suggested", "ring-dashed"),
        "planned": Badge("Planned", "half", "river"),
        "confirmed": Badge("Agreed", "disc", "full-river"),
        "started": Badge("Under way", "play", "full-straw", "Under way since {}"),
        "finished": Badge("Finished", "tick", "soot"),
        "called_off": Badge("Called off", "cross", "brick", "Called off: {}"),
        "fixed": Badge("Fixed", "lock", "stone"),
    },
    "task": {
        "open": Badge("To do", "box", "soot"),
        "done": Badge("Done", "box-tick", "soot"),
        "not_done": Badge("Not done", "box-minus", "brick", "Not done: {}"),
    },
    "need": {
        "open": Badge("To do", "box", "soot"),
        "done": Badge("Done", "box-tick", "soot"),
        "lapsed": Badge("Missed", "cross", "brick", "Missed: next chance {}"),
        "withdrawn": Badge("No longer needed", "back"),
        "unplaced": Badge("No visit yet", "mind", "straw", "No visit: {}"),
    },
    "window": {
        "before": Badge("Too early", "gate", "stone", "Too early until {}"),
        "in": Badge("Open", "frame", "river", "Open until {}"),
        "best": Badge("Best now", "hatched", "leaf", "Best until {}"),
        "closing": Badge("Closing", "half-box", "straw", "{} left"),
        "past": Badge("Missed", "cross", "brick", "Missed: next chance {}"),
    },
    "basis": {
        "observed": Badge("Seen here", "eye", "stone", "Seen here {}"),
        "weather": Badge("From this year's weather", "cloud"),
        "normals": Badge("Usual date", "calendar"),
    },
    "stage": {
        "planted": Badge("Planted", dress="soot"),
        "forming": Badge("Forming", dress="soot", detailed="Forming, {}"),
        "extending": Badge("Filling out", dress="soot"),
        "full": Badge("Full", dress="soot"),
        "renovating": Badge("Being renewed", dress="soot"),
        "lost": Badge("Lost", dress="soot", detailed="Lost {}"),
    },
    "entry": {
        "on_phone": Badge("On this phone", "triangle", "straw"),
        "accepted": Badge("Office has it", "disc"),
        "refused": Badge("Needs the office", "cross", "brick"),
    },
    "message": {
        "waiting": Badge("Waiting", "ring"),
        "handed_over": Badge("Handed over", "disc", "stone", "Handed over {}"),
        "not_sure": Badge("Not sure it went", "question", "straw"),
        "refused": Badge("Refused", "cross", "brick", "Refused: {}"),
        "stopped": Badge("Stopped", "square", "stone", "Stopped: {}"),
    },
    "money": {
        "draft": Badge("Draft", "ring"),
        "issued": Badge("Sent", "disc", "river"),
        "part_paid": Badge("Part paid", "half", "river", "{} paid"),
        "paid": Badge("Paid", "tick", "soot", "Paid {}"),
        "late": Badge("Late", "triangle", "straw", "{} late"),
        "credited": Badge("Credited", "back", "stone", "Credited {}"),
        "given_up": Badge("Given up", "cross", "stone"),
    },
    "plan": {
        "running": Badge("Under way", "play", "full-straw"),
        "offered": Badge("To be accepted", "half", "river"),
        "accepted": Badge("Accepted", "tick", "soot"),
        "dropped": Badge("Dropped", "cross"),
        "undone": Badge("Taken back", "back"),
    },
    "support": {
        "fine": Badge("Fine", "tick", "soot"),
        "near_its_limit": Badge("Near its limit", "mind", "straw"),
        "not_enough": Badge("Not enough", "cross", "brick"),
        "not_proved": Badge("Not proved", "question", "straw"),
    },
    "part": {
        "holds": Badge("Holds", "tick", "soot"),
        "watch": Badge("Look at it", "mind", "straw"),
        "fails": Badge("Too weak", "cross", "brick"),
    },
}


@register.inclusion_tag("business/_badge.html")
def badge(family: str, state: object, detail: object = "") -> dict[str, str]:
    """``{% badge "visit" visit.state %}`` or with a detail: ``{% badge "visit" visit.state visit.reason %}``."""
    value = str(state)
    shown = BADGES[family].get(value) or Badge(value.replace("_", " ").capitalize())
    return {
        "words": shown.told("" if detail is None else str(detail)),
        "shape": shown.shape,
        "dress": shown.dress,
    }
