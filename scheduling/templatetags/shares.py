"""Shares as people read them."""

from __future__ import annotations

from django import template

register = template.Library()


@register.filter
def percent(share: float) -> str:
    """0.823 → 82 %"""
    return f"{share * 100:.0f} %"


@register.filter
def hours(minutes: float) -> str:
    """2310 → 38.5, 240 → 4"""
    return f"{round(minutes / 60, 1):g}"
