"""A support over the years: what was recorded about its wires and posts, how it stands, what care it is due.

state = fold_support(support, records, built_on=date(2021, 2, 3), on=date(2024, 1, 10))
for due in care_due(state): …
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.slack import SagReading, Slack, judge_pull, judge_slack
from gardens.supports.values import Support

SupportRecordKind = Literal["measured", "seen", "done"]

BREAKS = ("broken_wire", "loose_fixing", "rotten_post", "lost_tensioner")
"""What can be seen that somebody must mend, with the words for it in `MENDING`."""

MENDING: Mapping[str, str] = {
    "broken_wire": "Renew {part}: take the old wire off, string the new one last.",
    "loose_fixing": "Set the fixing of {part} anew in sound material and pull-test it.",
    "rotten_post": "Renew {part}: prop the wires first, then change the post.",
    "lost_tensioner": "Fit a new tensioner to {part}.",
}
MATERIALS_FOR: Mapping[str, tuple[tuple[str, float], ...]] = {
    "broken_wire": (("wire_joiner", 2.0),),
    "loose_fixing": (("resin_stud", 1.0),),
    "rotten_post": (("line_post", 1.0), ("staple", 8.0)),
    "lost_tensioner": (("tensioner", 1.0),),
}
MENDING_MINUTES = 30.0
URGENT_DAYS, EARLY_DAYS, LATE_DAYS, BEST_DAYS = 14, 30, 60, 14


@dataclass(frozen=True, kw_only=True)
class SupportRecord:
    """One dated fact about a support.

    ``part``: "whole", "wire:2", "post:3". measured: "sag" [mm] and "load" [N/m] on it, "pull" [N] on the gauge, "lean"
    [°]; seen: "gale" or one of `BREAKS`; done: "inspect", "tighten_wires", "straighten_posts", "erect_support".
    ``load_n_m`` is what hung on the wire when its sag was read, ``span_mm`` the span it was read in (None: as built).
    """

    on: date
    kind: SupportRecordKind
    what: str
    part: str = "whole"
    value: float | None = None
    load_n_m: float = 0.0
    span_mm: float | None = None
    key: str = ""


@dataclass(frozen=True, kw_only=True)
class WireState:
    """A wire as it stands: last tightened, and the last reading since then, if there is one."""

    number: int
    height_mm: int
    tightened_on: date
    slack: Slack | None = None
    read_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class SupportState:
    """A support on one day: the fold of its records.

    ``leans`` by post number, readings since it was last set straight [°]; ``broken`` (part, what, seen on) not mended.
    """

    support: Support
    on: date
    built_on: date
    inspected_on: date
    wires: tuple[WireState, ...]
    leans: tuple[tuple[int, float, date], ...] = ()
    broken: tuple[tuple[str, str, date], ...] = ()
    gale_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class CareDue:
    """Care that is due, in the shape of a need: days opens ≤ best_from ≤ best_until ≤ closes, minutes of one person."""

    kind: str
    part: str
    instruction: str
    opens: date
    best_from: date
    best_until: date
    closes: date
    minutes: float
    why: str
    source: str
    materials: tuple[tuple[str, float], ...] = ()
    is_urgent: bool = False


def fold_support(
    support: Support,
    records: Iterable[SupportRecord],
    *,
    built_on: date,
    on: date,
    book: Materials | None = None,
) -> SupportState:
    """The support as its records up to a day leave it. A record that comes late is folded in its right place."""
    book = book or materials()
    known = sorted((record for record in records if record.on <= on), key=lambda record: (record.on, record.key))
    done = [record for record in known if record.kind == "done"]
    return SupportState(
        support=support,
        on=on,
        built_on=built_on,
        inspected_on=max((r.on for r in done if r.what == "inspect"), default=built_on),
        wires=tuple(
            _wire_state(support, number, height, (known, built_on), book)
            for number, height in enumerate(support.wire_heights_mm, start=1)
        ),
        leans=_leans(known),
        broken=_broken(known),
        gale_on=max((r.on for r in known if r.kind == "seen" and r.what == "gale"), default=None),
    )


def care_due(state: SupportState, *, book: Materials | None = None) -> tuple[CareDue, ...]:
    """Inspections, wires to tighten, posts to set straight, things to mend; what is urgent first."""
    book = book or materials()
    due = [*_mend(state), *_tighten(state, book), *_straighten(state, book), _inspect(state, book)]
    return tuple(sorted(due, key=lambda care: (not care.is_urgent, care.best_from, care.part)))


def _wire_state(
    support: Support, number: int, height_mm: int, what: tuple[list[SupportRecord], date], book: Materials
) -> WireState:
    records, built_on = what
    mine = [record for record in records if record.part in ("whole", f"wire:{number}")]
    renewed = ("tighten_wires", "erect_support")
    # On one day the order of writing tells a wire read and then tightened from one tightened and then read.
    moment = max(((r.on, r.key) for r in mine if r.kind == "done" and r.what in renewed), default=(built_on, ""))
    tightened = moment[0]
    readings = [
        record
        for record in mine
        if record.kind == "measured"
        and record.what in ("sag", "pull")
        and (record.on, record.key) >= moment
        and record.part != "whole"
    ]
    if not readings or readings[-1].value is None:
        return WireState(number=number, height_mm=height_mm, tightened_on=tightened)
    last = readings[-1]
    return WireState(
        number=number,
        height_mm=height_mm,
        tightened_on=tightened,
        slack=_judged(support, last, book),
        read_on=last.on,
    )


def _judged(support: Support, record: SupportRecord, book: Materials) -> Slack:
    value = record.value or 0.0
    if record.what == "pull":
        free = support.run_mm if support.slides else support.span_mm
        return judge_pull(support.wire, pull_n=value, free_run_mm=free, wanted_n=support.tension_n, book=book)
    reading = SagReading(sag_mm=value, span_mm=record.span_mm or support.span_mm, load_n_m=record.load_n_m)
    return judge_slack(support.wire, reading, wanted_n=support.tension_n, on_wall=support.kind == "wall", book=book)


def _leans(records: list[SupportRecord]) -> tuple[tuple[int, float, date], ...]:
    """The last lean of each post since it, or the whole, was set straight."""
    leans: dict[int, tuple[float, date]] = {}
    for record in records:
        if record.kind == "done" and record.what in ("straighten_posts", "erect_support"):
            if record.part == "whole":
                leans.clear()
            else:
                leans.pop(_number(record.part), None)
        elif record.kind == "measured" and record.what == "lean" and record.value is not None:
            leans[_number(record.part)] = (record.value, record.on)
    return tuple((number, lean, on) for number, (lean, on) in sorted(leans.items()))


def _broken(records: list[SupportRecord]) -> tuple[tuple[str, str, date], ...]:
    broken: dict[tuple[str, str], date] = {}
    for record in records:
        if record.kind == "seen" and record.what in BREAKS:
            broken.setdefault((record.part, record.what), record.on)
        elif record.kind == "done" and record.what == "erect_support":
            broken = {key: on for key, on in broken.items() if record.part not in ("whole", key[0])}
    return tuple((part, what, on) for (part, what), on in broken.items())


def _mend(state: SupportState) -> list[CareDue]:
    return [
        _urgent(
            state,
            CareDue(
                kind="erect_support",
                part=part,
                instruction=MENDING[what].format(part=_words(part)),
                opens=seen_on,
                best_from=seen_on,
                best_until=seen_on,
                closes=seen_on,
                minutes=MENDING_MINUTES,
                why=f"{what.replace('_', ' ')} seen on {seen_on.isoformat()}",
                source="common practice",
                materials=MATERIALS_FOR[what],
            ),
        )
        for part, what, seen_on in state.broken
    ]


def _tighten(state: SupportState, book: Materials) -> list[CareDue]:
    """Wires that a reading finds slack, and new wire after its first season."""
    work = book.works["tighten"]
    minutes = work.fixed + work.per_unit
    due = []
    for wire in state.wires:
        part = f"wire:{wire.number}"
        if wire.slack and wire.slack.verdict in ("not_enough", "near_its_limit"):
            care = _around(state.on, "tighten_wires", part, wire.slack.text, minutes)
            why = f"{wire.slack.formula}; read on {wire.read_on}"
            told = _told(care, why, wire.slack.source)
            due.append(_urgent(state, told) if wire.slack.verdict == "not_enough" else told)
        elif wire.slack is None and wire.tightened_on == state.built_on:
            settled = state.built_on + timedelta(days=round(book.limit("settle_days")))
            text = f"Tighten {_words(part)} to {state.support.tension_n:.0f} N."
            care = _around(settled, "tighten_wires", part, text, minutes)
            due.append(
                _told(care, "new wire and new posts settle in their first season", book.limits["settle_days"].source)
            )
    return due


def _straighten(state: SupportState, book: Materials) -> list[CareDue]:
    limit, work = book.limits["lean_deg"], book.works["straighten"]
    return [
        _told(
            _around(
                state.on,
                "straighten_posts",
                f"post:{number}",
                f"Set post {number} straight: it leans {lean:g}°. Ease the wires first, ram the ground, tighten last.",
                work.fixed + work.per_unit,
            ),
            f"leans more than {limit.value:g}°, read on {on.isoformat()}",
            limit.source,
        )
        for number, lean, on in state.leans
        if lean > limit.value
    ]


def _inspect(state: SupportState, book: Materials) -> CareDue:
    limit, work = book.limits["inspect_days"], book.works["look_over"]
    minutes = work.fixed + work.per_unit * len(state.wires)
    text = "Look over wires, fixings, posts and ties; read the sag of each wire at mid-span."
    if state.gale_on and state.gale_on > state.inspected_on:
        care = _around(state.gale_on, "inspect", "whole", text, minutes)
        return _urgent(state, _told(care, f"a gale on {state.gale_on.isoformat()}", limit.source))
    due_on = state.inspected_on + timedelta(days=round(limit.value))
    care = _around(due_on, "inspect", "whole", text, minutes)
    return _told(care, f"last looked over on {state.inspected_on.isoformat()}", limit.source)


def _around(on: date, kind: str, part: str, instruction: str, minutes: float) -> CareDue:
    return CareDue(
        kind=kind,
        part=part,
        instruction=instruction,
        opens=on - timedelta(days=EARLY_DAYS),
        best_from=on - timedelta(days=BEST_DAYS),
        best_until=on + timedelta(days=BEST_DAYS),
        closes=on + timedelta(days=LATE_DAYS),
        minutes=minutes,
        why="",
        source="",
    )


def _told(care: CareDue, why: str, source: str) -> CareDue:
    return replace(care, why=why, source=source)


def _urgent(state: SupportState, care: CareDue) -> CareDue:
    """At once: within a fortnight from the day looked at."""
    return replace(
        care,
        opens=state.on,
        best_from=state.on,
        best_until=state.on + timedelta(days=URGENT_DAYS // 2),
        closes=state.on + timedelta(days=URGENT_DAYS),
        is_urgent=True,
    )


def _words(part: str) -> str:
    return part.replace(":", " ")


def _number(part: str) -> int:
    """ "post:3" → 3; 0 for the whole."""
    _, _, number = part.partition(":")
    return int(number) if number.isdigit() else 0
