"""Ties: how many, of what, and the day by which they come off or are renewed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil

from gardens.knowledge.form_schema import growth_figures
from gardens.knowledge.material_book import Materials, find, materials

WORDS_FOR_AGAINST = "cuts into wood that thickens: take it off and use a soft tie"


@dataclass(frozen=True, kw_only=True)
class TieLife:
    """How long a tie may stay on: seasons, the last day, and why. ``is_right`` says whether it suits the wood."""

    material: str
    seasons: int
    off_by: date
    is_right: bool
    why: str
    source: str


def tie_count(arm_mm: float, *, canes: int = 0, book: Materials | None = None) -> int:
    """Ties for a length of arms: one in 25 cm, and two for each cane.

    Raises:
        ValueError: for a length below zero.
    """
    if arm_mm < 0 or canes < 0:
        raise ValueError("lengths and canes are not below zero")
    return ceil(arm_mm / (book or materials()).limit("tie_gap_mm") - 1e-9) + 2 * canes


def tie_life(
    material: str,
    *,
    since: date,
    wood_mm: float = 10,
    season_ends: tuple[int, int] = (11, 1),
    book: Materials | None = None,
) -> TieLife:
    """When a tie that went on on a day must come off or be renewed.

    A season ends when growth has ended, by default on 1 November; in the southern half of the world give (5, 1). A tie
    put on within a season has that season's end as its first.

    Args:
        material: id or name of `ties.toml` ("jute", "soft tube").
        since: the day it went on.
        wood_mm: thickness of the wood under it. [mm]
        season_ends: month and day.

    Raises:
        BadInput: for an unknown material.
    """
    book = book or materials()
    row = find(book.ties, material, where="tie")
    seasons = row.old_seasons if wood_mm > growth_figures()["young_wood_mm"].value else row.young_seasons
    if row.advised_against:
        return TieLife(
            material=row.id, seasons=0, off_by=since, is_right=False, why=WORDS_FOR_AGAINST, source=row.source
        )
    month, day = season_ends
    first = date(since.year, month, day)
    if first < since:
        first = date(since.year + 1, month, day)
    fits = row.from_mm <= wood_mm <= row.to_mm
    why = (
        "rots within that time" if row.rots else "gives a little, but not for longer" if row.gives else "does not give"
    )
    if row.cuts_in:
        why = f"{why} and can girdle"
    if not fits:
        why = f"made for wood of {row.from_mm:g} to {row.to_mm:g} mm, this is {wood_mm:g} mm; {why}"
    return TieLife(
        material=row.id,
        seasons=seasons,
        off_by=first.replace(year=first.year + max(seasons - 1, 0)),
        is_right=fits,
        why=why,
        source=row.source,
    )
