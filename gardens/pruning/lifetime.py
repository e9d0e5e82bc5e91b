"""How old a tree is in the seasons of its life."""

from __future__ import annotations

from datetime import date

from gardens.climate.seasons import season_year


def season_of_tree(planted_on: date, year: int, *, is_southern: bool) -> int:
    """Which season of its life a tree is in, the first after planting being 1; 0 or less before it."""
    return year - season_year(planted_on, is_southern=is_southern) + 1
