"""The picture in words: limb names, its title, its description."""

from __future__ import annotations

from gardens.training.state import TreeState
from gardens.units import Units, show_length

FORM_WORDS = {
    "horizontal_tiers": "Horizontal tiers",
    "step_over": "Step-over",
    "oblique_cordon": "Oblique cordon",
    "upright_cordon": "Upright cordon",
    "fan": "Fan",
    "oblique_palmette": "Oblique palmette",
    "candelabra_palmette": "Candelabra palmette",
    "u_form": "U form",
    "double_u": "Double U",
    "lattice": "Lattice",
    "vine_rod_and_spur": "Vine, rod and spur",
    "vine_cane_replacement": "Vine, cane replacement",
    "vine_tiers": "Vine, four arms",
    "informal": "Informal",
}
_STAGE_WORDS = {
    "planted": "planted",
    "forming": "forming",
    "extending": "filling out",
    "full": "full",
    "renovating": "being renewed",
    "lost": "lost",
}
_NUMBER_WORDS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
TITLE_LENGTH = 60


def limb_words(key: str) -> str:
    """A limb key as a person says it: "arm:2:left" → "left arm of tier 2"."""
    name, *rest = key.split(":")
    match (name, rest):
        case ("whole", _):
            return "whole tree"
        case ("trunk" | "leader", _):
            return name
        case ("arm", [tier, side]):
            return f"{side} arm of tier {tier}"
        case ("rib", [place, side]):
            return f"{side} rib {place}"
        case ("cane", [side]):
            return f"{side} cane"
        case ("tier" | "axis" | "rod" | "wire" | "post", [place]):
            return f"{name} {place}"
        case (_, [_, *_]):
            return f"{name} {rest[-1]} on {_parent_words(rest)}"
    return " ".join([name, *rest])


def _parent_words(rest: list[str]) -> str:
    for known in ("arm", "rib", "axis", "rod", "cane", "leader", "trunk"):
        if rest[0] == known:
            return limb_words(":".join(rest if len(rest) <= (2 if known != "arm" else 3) else rest[:-1]))
    return f"the {rest[1]} arm of tier {rest[0]}" if len(rest) > 1 and rest[1] in ("left", "right") else rest[0]


def tree_title(state: TreeState, given: str = "") -> str:
    """At most 60 characters: the given words, or form and stage."""
    facts = state.facts
    form = FORM_WORDS.get(facts.form, facts.form.replace("_", " "))
    stage = _STAGE_WORDS.get(state.stage, state.stage)
    if facts.tiers and state.stage in ("forming", "planted"):
        stage = f"{_count(state.tiers_set)} of {_count(facts.tiers)} tiers set"
    return cut(given or f"{form}, {stage}", TITLE_LENGTH)


def tree_description(state: TreeState, marks: tuple[str, ...], units: Units) -> str:
    """Stage, wires, limbs and every numbered mark in words."""
    facts = state.facts
    wires = ", ".join(show_length(height, units) for height in facts.wire_heights_mm)
    parts = [
        f"Seen from in front, {state.on.isoformat()}. {_STAGE_WORDS.get(state.stage, state.stage).capitalize()}.",
        f"Wires at {wires}." if wires else "No wires.",
        f"The leader stands at {show_length(state.leader_height_mm, units)}." if state.leader_height_mm else "",
    ]
    grown = [limb for limb in state.limbs if limb.length_mm > 0 and limb.kind not in ("trunk", "leader")]
    if grown:
        listed = [f"{limb_words(limb.key)} {show_length(limb.length_mm, units)}" for limb in grown[:12]]
        more = f" and {len(grown) - 12} more" if len(grown) > 12 else ""
        parts.append(f"Limbs: {', '.join(listed)}{more}.")
    lost = [limb_words(limb.key) for limb in state.limbs if limb.status == "lost"]
    if lost:
        parts.append(f"Lost: {', '.join(lost)}.")
    parts.append("Lengths are estimated." if state.estimated else "")
    if marks:
        parts.append("Marks: " + " ".join(marks))
    return " ".join(part for part in parts if part)


def cut(text: str, length: int) -> str:
    """The text, with an ellipsis where it is longer than allowed."""
    text = " ".join(text.split())
    return text if len(text) <= length else text[: length - 1].rstrip() + "…"


def _count(number: int) -> str:
    return _NUMBER_WORDS[number] if 0 <= number < len(_NUMBER_WORDS) else str(number)
