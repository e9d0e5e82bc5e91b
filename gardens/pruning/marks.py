"""What a site's usual weather says about its year besides stages: its coldest weeks, the ends of its dry season."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

import numpy as np

from gardens.climate.gates import usual_rain_mm_per_week, wet_season_starts
from gardens.climate.normals import daily_normals
from gardens.climate.values import MonthlyNormals, Place, StageDate
from gardens.knowledge.when import Frame

WET_MM_PER_WEEK = 6.0
"""Usual rain from which a week counts as wet for cuts that need six dry weeks; as in the gate D6W. House default."""
COLDEST_WEEKS_DAYS = 28
PLUS_MINUS_DAYS = 12


def site_marks(normals: MonthlyNormals, place: Place, year: int) -> dict[str, StageDate]:
    """The marks of a tree-year at a site: the end of its coldest four weeks and, where its summers are dry, the last
    wet week of spring and the first of autumn.

    Args:
        normals: of the site.
        place: decides the half of the world.
        year: the tree-year, named after its bloom.
    """
    return dict(_marks(normals, Frame(year, place.is_southern)))


@lru_cache(maxsize=4096)
def _marks(normals: MonthlyNormals, frame: Frame) -> tuple[tuple[str, StageDate], ...]:
    days = {"coldest_end": _coldest_end(normals, frame)}
    if normals.rain_mm:
        days |= _dry_season(normals, frame)
    return tuple((name, _mark(name, on)) for name, on in days.items())


def _coldest_end(normals: MonthlyNormals, frame: Frame) -> date:
    """The last day of the coldest four weeks of the winter that opens the tree-year."""
    tmin, tmax = daily_normals(normals, frame.opens, 240)
    weeks = np.convolve((tmin + tmax) / 2, np.ones(COLDEST_WEEKS_DAYS), mode="valid")
    return frame.opens + timedelta(days=int(np.argmin(weeks)) + COLDEST_WEEKS_DAYS - 1)


def _dry_season(normals: MonthlyNormals, frame: Frame) -> dict[str, date]:
    """The days that bound the dry season; empty where no week of the growing season is dry."""
    first = frame.opens + timedelta(days=120)
    rain = [usual_rain_mm_per_week(normals, first + timedelta(days=step)) or 0.0 for step in range(245)]
    driest = min(range(len(rain)), key=rain.__getitem__)
    if rain[driest] >= WET_MM_PER_WEEK:
        return {}
    ends = wet_season_starts(normals, first + timedelta(days=driest), WET_MM_PER_WEEK)
    if ends is None:
        return {}
    wet_before = [step for step in range(driest) if rain[step] >= WET_MM_PER_WEEK]
    return {"spring_dry": first + timedelta(days=wet_before[-1] if wet_before else 0), "autumn_rain": ends}


def _mark(name: str, on: date) -> StageDate:
    spread = timedelta(days=PLUS_MINUS_DAYS)
    return StageDate(stage=name, on=on, earliest=on - spread, latest=on + spread, basis="normals")
