"""How we train, as it is kept."""

from __future__ import annotations

from gardens.models import HousePractice


def kept_practice() -> HousePractice | None:
    """The row of our own choices; None while everything is as usual."""
    return HousePractice.objects.select_related("changed_by").filter(pk=1).first()
