"""Lengths as a form field: written in any unit people use, kept as whole millimetres, shown back without loss."""

from __future__ import annotations

from typing import Any

from django import forms

from gardens.units import Units, exact_length, parse_length_mm


class LengthField(forms.Field):
    """A length in mm. A number alone is taken in cm, or in inches where the business reads inches."""

    units: Units = "metric"
    longest = 20

    def __init__(self, **more: Any) -> None:
        super().__init__(**{"widget": forms.TextInput({"maxlength": self.longest}), **more})

    def prepare_value(self, value: Any) -> Any:
        return exact_length(value, self.units) if isinstance(value, int) else value

    def to_python(self, value: Any) -> Any:
        raw = str(value or "")[: self.longest].strip()
        if not raw:
            return None
        return _mm(raw, self.units)


class LengthsField(LengthField):
    """Several lengths from low to high, separated by semicolons or by commas with a space: "45 cm, 90 cm, 135 cm"."""

    longest = 200

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, list | tuple):
            return ", ".join(exact_length(one, self.units) for one in value)
        return value

    def to_python(self, value: Any) -> Any:
        raw = str(value or "")[: self.longest].replace(", ", ";")
        return tuple(_mm(part, self.units) for part in raw.split(";") if part.strip())


def read_in(form: forms.BaseForm, units: Units) -> None:
    """Let every length of a form be read and shown in somebody's units."""
    for field in form.fields.values():
        if isinstance(field, LengthField):
            field.units = units


def _mm(raw: str, units: Units) -> int:
    try:
        return parse_length_mm(raw, default_unit="in" if units == "imperial" else "cm")
    except ValueError as error:
        raise forms.ValidationError(f"{error}.") from error
