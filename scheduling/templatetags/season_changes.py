"""Days of the kept account of a season on pages: it is kept as plain words, so they are read here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from django import template

from business.templatetags.face import until

register = template.Library()


@register.filter
def iso_day(value: str) -> date:
    """2027-04-12 → the day"""
    return date.fromisoformat(value)


@register.filter
def iso_moment(value: str) -> datetime:
    """2027-04-12T09:00:00+00:00 → the moment"""
    return datetime.fromisoformat(value)


@register.filter
def until_iso(first: date, last: str) -> str:
    """A span whose end is still in words."""
    return str(until(first, date.fromisoformat(last)))


@register.filter
def shifted(days: int) -> str:
    """-9 → 9 days earlier"""
    return f"{abs(days)} day{'s' if abs(days) > 1 else ''} {'later' if days > 0 else 'earlier'}"


@register.filter
def less(count: int, shown: Sequence[object]) -> int:
    """How many are not shown."""
    return count - len(shown)
