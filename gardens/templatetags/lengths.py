"""Lengths on pages, in the units of whoever reads: ``{% load lengths %} {{ tree.height_mm|in_units:business.units }}``."""

from __future__ import annotations

from django import template

from gardens.units import Units, show_length

register = template.Library()


@register.filter
def in_units(mm: float | None, units: str = "metric") -> str:
    """45 cm or 17½ in; a dash when nothing was measured."""
    if mm is None:
        return "–"
    known: Units = "imperial" if units == "imperial" else "metric"
    return show_length(mm, known)
