"""How limbs, numbers and heights are said in an instruction."""

from __future__ import annotations

from gardens.training.state import Limb
from gardens.units import Units, show_length

_ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
SIDE = {-1: "left", 0: "middle", 1: "right"}


def ordinal(number: int) -> str:
    """ "first" to "twelfth", then "13th"."""
    if 1 <= number <= len(_ORDINALS):
        return _ORDINALS[number - 1]
    return f"{number}{'th' if number % 100 in (11, 12, 13) else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def number_word(number: int) -> str:
    """ "no", "one" to "twelve", then digits."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def name_of(limb: Limb, *, many_tiers: bool = True) -> str:
    """A limb as a worker in front of the support calls it: "the left arm of tier 2"."""
    side, parts = SIDE[limb.side], limb.key.split(":")
    if limb.kind == "arm":
        return f"the {side} arm of tier {limb.tier}" if many_tiers else f"the {side} arm"
    if limb.kind == "rib":
        return f"the {ordinal(int(parts[1]))} rib on the {side}"
    if limb.kind == "axis":
        return f"the {ordinal(int(parts[1]))} upright from the left"
    if limb.kind == "rod":
        return f"the {side} rod" if limb.side else "the rod"
    if limb.kind == "leader":
        return "the leader" if limb.parent else "the stem"
    return f"the {side} cane" if limb.kind == "cane" else f"the {limb.kind}"


def beside_wire(height_mm: float, wire_mm: float, wire_name: str, units: Units) -> str:
    """ "5 cm above the second wire", "at the second wire", "2 cm below the first wire"; "" without a wire."""
    off = round(height_mm - wire_mm)
    if not wire_name:
        return ""
    if abs(off) < 5:
        return f"at {wire_name}"
    return f"{show_length(abs(off), units)} {'above' if off > 0 else 'below'} {wire_name}"


def at_angle(angle_deg: float) -> str:
    """ "at 45°", "upright", "flat along the wire"."""
    if angle_deg >= 89:
        return "upright"
    return "flat along the wire" if abs(angle_deg) < 1 else f"at {angle_deg:.0f}°"


def listed(items: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"
