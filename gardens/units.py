"""Lengths at the edge: what people write ("18 in", "45 cm", "5 ft 3") and what they read. Inside, whole millimetres.

Exact factors: 1 in = 25.4 mm, 1 ft = 304.8 mm (international yard and pound agreement, 1959).
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

Units = Literal["metric", "imperial"]

MM_PER = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
    "in": Decimal("25.4"),
    '"': Decimal("25.4"),
    "inch": Decimal("25.4"),
    "inches": Decimal("25.4"),
    "ft": Decimal("304.8"),
    "'": Decimal("304.8"),
    "foot": Decimal("304.8"),
    "feet": Decimal("304.8"),
}

_NUMBER = r"(\d{1,9}(?:[.,]\d{1,9})?)"
_ONE_LENGTH = re.compile(rf"^\s*{_NUMBER}\s*([a-z\"']*)\s*$", re.IGNORECASE)
_FEET_AND_INCHES = re.compile(
    rf"^\s*{_NUMBER}\s*(?:ft|foot|feet|')\s*{_NUMBER}\s*(?:in|inch|inches|\")?\s*$", re.IGNORECASE
)
_THOUSANDS = re.compile(r"\d[.,]\d{3}(?!\d)")


def parse_length_mm(text: str, *, default_unit: str) -> int:
    """Read a length as whole millimetres, rounded half up.

    A number without a unit is taken in ``default_unit``. A decimal comma is understood; "1.500 m" and "1,500" are
    refused because they read differently in different countries.

    Raises:
        ValueError: with a sentence that says what would be right.
    """
    if both := _FEET_AND_INCHES.match(text):
        feet, inches = (Decimal(part.replace(",", ".")) for part in both.groups())
        return _whole(feet * MM_PER["ft"] + inches * MM_PER["in"])
    match = _ONE_LENGTH.match(text)
    if not match:
        raise ValueError(f"{text!r} is not a length; write it as 45 cm, 1.2 m, 18 in or 5 ft 3")
    number, unit = match.group(1), match.group(2).lower() or default_unit
    if _THOUSANDS.search(number):
        reading = number.replace(",", ".")
        raise ValueError(
            f"{text!r} can be read as {reading.rstrip('0').rstrip('.')} or as {re.sub('[.,]', '', number)}; "
            f"leave out the separator or write fewer decimals"
        )
    if unit not in MM_PER:
        raise ValueError(f"{text!r} has the unit {unit!r}; known are mm, cm, m, in, ft")
    return _whole(Decimal(number.replace(",", ".")) * MM_PER[unit])


def show_length(mm: int | float, units: Units = "metric") -> str:
    """A length as a person reads it: "45 cm", "1.35 m", "17½ in", "5 ft 3 in"."""
    if units == "metric":
        if abs(mm) < 10:
            return f"{round(mm)} mm"
        if abs(mm) < 2000:
            return f"{_round_half_up(Decimal(mm) / 10)} cm"
        return f"{Decimal(mm) / 1000:.2f} m"
    half_inches = _round_half_up(Decimal(mm) / MM_PER["in"] * 2)
    whole, half = divmod(half_inches, 2)
    fraction = "½" if half else ""
    if whole < 36:
        return f"{whole or ('' if half else 0)}{fraction} in"
    feet, inches = divmod(whole, 12)
    rest = f" {inches or ''}{fraction} in" if inches or half else ""
    return f"{feet} ft{rest}"


def exact_length(mm: int, units: Units = "metric") -> str:
    """A length for a box of a form: short, and read back as the same whole millimetres."""
    if units == "imperial":
        return f"{Decimal(mm) / MM_PER['in']:.2f}".rstrip("0").rstrip(".") + " in"
    return f"{mm} mm" if mm % 10 else f"{mm // 10} cm"


def _whole(mm: Decimal) -> int:
    return _round_half_up(mm)


def _round_half_up(value: Decimal) -> int:
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_UP))
