"""How limbs, numbers and heights are said in an instruction."""

from __future__ import annotations

from gardens.training.state import Limb
from gardens.units import Units, show_length

_ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip
SIDE = {-1: "left", 0: "middle", 1: "right"}


def ordinal(number: int) -> str:
    """ "first" to "twelfth", then "number 13"."""
    return _ORDINALS[number - 1] if 1 <= number <= len(_ORDINALS) else f"number {number}"


def name_of(limb: Limb) -> str:
    """A limb as a worker in front of the support calls it: "the left arm of tier 2"."""
    parts = limb.key.split(":")
    side = SIDE[limb.side]
    if limb.kind == "arm":
        return f"the {side} arm" if limb.tier == 1 and len(parts) == 2 else f"the {side} arm of tier {limb.tier}"
    if limb.kind == "rib":
        return f"the {ordinal(int(parts[1]))} rib on the {side}"
    if limb.kind == "axis":
        return f"the {ordinal(int(parts[1]))} upright from the left"
    if limb.kind == "rod":
        return f"the {side} rod" if limb.side else "the rod"
    if limb.kind == "cane":
        return f"the {side} cane"
    return f"the {limb.kind}"


def capital(sentence: str) -> str:
    """The sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]


def beside_wire(height_mm: float, wire_mm: float, wire_name: str, units: Units) -> str:
    """ "5 cm above the second wire", "at the second wire", "2 cm below the first wire"."""
    off = round(height_mm - wire_mm)
    if abs(off) < 5:
        return f"at {wire_name}"
    return f"{show_length(abs(off), units)} {'above' if off > 0 else 'below'} {wire_name}"


def listed(items: list[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"
