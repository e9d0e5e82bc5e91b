"""The year of a tree: which season a day belongs to, and how much of a season's growth is behind it.

A season is named after the year of its spring. It begins with the dormant months before that spring (1 November in
the northern half of the world, 1 May in the southern) so that a winter's cut and the growth it causes share a name.
The days below are the usual ones of the trade for Britain and north-west Europe (from memory); they only carry
estimates forward. When work may be done is decided by stages elsewhere.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

SEASON_STARTS = (11, 1)
DORMANT_WORK_DONE = (4, 14)
GROWTH_STARTS = (4, 15)
SHOOTS_CHOSEN = (6, 15)
SHOOTS_TIED = (7, 31)
GROWTH_ENDS = (9, 1)
ARMS_LOWERED = (10, 31)

OFFERED_UNTIL = {"dormant": (4, 13), "spring": (6, 14), "summer": (9, 30), "autumn": (10, 31), "any": (10, 31)}
"""Up to which day of its season an act that was not recorded is still asked for; after it, it is taken as done."""
PLANTING_ENDS = (5, 31)


def season_of(day: date, *, southern: bool = False) -> int:
    """The season a day belongs to: the year of its spring."""
    if southern:
        return day.year if day.month >= 5 else day.year - 1
    return day.year + 1 if day.month >= 11 else day.year


@lru_cache(maxsize=4096)
def day_of(season: int, month_day: tuple[int, int], *, southern: bool = False) -> date:
    """The date of a northern (month, day) within a season, moved by six months in the southern half of the world."""
    month, day = month_day
    if not southern:
        return date(season - 1 if month >= 11 else season, month, day)
    moved = (month + 5) % 12 + 1
    year = season + 1 if 7 <= month <= 10 else season
    return date(year, moved, min(day, 28) if moved == 2 else min(day, 30))


@lru_cache(maxsize=1024)
def work_days(season: int, *, southern: bool = False) -> tuple[date, date, date, date]:
    """The days on which a season's work is taken as done: dormant work, choosing, tying, lowering."""
    days = (DORMANT_WORK_DONE, SHOOTS_CHOSEN, SHOOTS_TIED, ARMS_LOWERED)
    first, second, third, last = (day_of(season, day, southern=southern) for day in days)
    return first, second, third, last


@lru_cache(maxsize=4096)
def share_grown(day: date, *, southern: bool = False) -> float:
    """How much of its season's extension a shoot has made by a day: 0 before growth, 1 when it has ended."""
    season = season_of(day, southern=southern)
    start = day_of(season, GROWTH_STARTS, southern=southern).toordinal()
    end = day_of(season, GROWTH_ENDS, southern=southern).toordinal()
    done = min(1.0, max(0.0, (day.toordinal() - start) / (end - start)))
    return done * done * (3 - 2 * done)


def first_season(planted_on: date, *, southern: bool = False) -> int:
    """The first season a tree is formed in: the one it was planted in, or the next if its spring was over."""
    season = season_of(planted_on, southern=southern)
    return season if planted_on <= day_of(season, PLANTING_ENDS, southern=southern) else season + 1
