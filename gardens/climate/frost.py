"""Frost dates: the last of spring, the first of autumn, and how likely frost is after or before a day.

Spring and autumn part at 24 July in the north and 24 January in the south.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from gardens.climate.readings import Reading, Readings
from gardens.climate.seasons import Season
from gardens.climate.values import DailyWeather

FROST_C = 0.0
HARD_FROST_C = -2.2
"""28 °F: kills open blossom and soft shoots."""
GROUND_FROST_C = 2.2
"""36 °F in the screen: frost on the ground is possible."""

MOST_MISSING_DAYS = 10
"""A half-season with more missing days than this says nothing about its frosts."""
SEASONS_FOR_MEDIAN = 10
SEASONS_FOR_TENTHS = 20


@dataclass(frozen=True, kw_only=True)
class FrostDates:
    """Last frost of spring and first of autumn; None where there was none."""

    last: date | None
    first: date | None


@dataclass(frozen=True, kw_only=True)
class FrostOdds:
    """When the last (or first) frost comes: one year in ten before ``early``, one in ten after ``late``.

    None where the seasons are too few (ten for the middle, twenty for the tenths) or most years have no frost.
    ``seasons`` counts the seasons with enough days, ``without_frost`` those of them that had none.
    """

    early: date | None
    median: date | None
    late: date | None
    seasons: int
    without_frost: int


def midsummers(first: date, last: date, *, is_southern: bool) -> list[date]:
    """The days within first … last at which spring frosts end and autumn frosts begin."""
    middles = (Season(year, is_southern).midsummer for year in range(first.year - 1, last.year + 2))
    return [middle for middle in middles if first <= middle <= last]


def frost_dates(
    days: Sequence[DailyWeather | Reading], first: date, last: date, *, is_southern: bool, threshold_c: float = FROST_C
) -> FrostDates:
    """The frosts of a span: the last before its latest midsummer, the first from that midsummer on.

    A span without a midsummer has its latest frost as ``last`` and no ``first``.
    """
    frosts = sorted(
        day.on for day in days if first <= day.on <= last and day.tmin_c is not None and day.tmin_c <= threshold_c
    )
    middles = midsummers(first, last, is_southern=is_southern)
    if not middles:
        return FrostDates(last=frosts[-1] if frosts else None, first=None)
    before = [on for on in frosts if on < middles[-1]]
    after = [on for on in frosts if on >= middles[-1]]
    return FrostDates(last=before[-1] if before else None, first=after[0] if after else None)


def season_frosts(readings: Readings, year: int, *, is_southern: bool, threshold_c: float = FROST_C) -> FrostDates:
    """The frosts around one growing season: last of its spring and first of the autumn that ends it.

    A season that lacks more than ten days before the frost was met says nothing: None. Spring is searched back to the
    midsummer before, so a mild spring may have its last frost in the old year.
    """
    season = Season(year, is_southern)
    turn, next_spring = season.midsummer, season.on(12, 31, autumn=True)
    by_day = {reading.on: reading.tmin_c for reading in readings.readings}
    last = _first_frost_of(_backwards(turn - timedelta(days=1), season.starts), by_day, threshold_c)
    first = _first_frost_of(_forwards(turn, next_spring), by_day, threshold_c)
    return FrostDates(last=last, first=first)


def is_complete(readings: Readings, year: int, *, is_southern: bool, is_spring: bool) -> bool:
    """Whether the half-season lacks at most ten days of minimum temperature."""
    season = Season(year, is_southern)
    first, last = (season.heat_from, season.midsummer - timedelta(days=1))
    if not is_spring:
        first, last = season.midsummer, season.on(12, 31, autumn=True)
    known = sum(1 for reading in readings.readings if first <= reading.on <= last and reading.tmin_c is not None)
    return (last - first).days + 1 - known <= MOST_MISSING_DAYS


def last_frost_odds(readings: Readings, *, is_southern: bool, threshold_c: float = FROST_C) -> FrostOdds:
    """When the last spring frost comes, from all complete springs of a record."""
    return _odds(readings, is_southern=is_southern, threshold_c=threshold_c, is_spring=True)


def first_frost_odds(readings: Readings, *, is_southern: bool, threshold_c: float = FROST_C) -> FrostOdds:
    """When the first autumn frost comes, from all complete autumns of a record."""
    return _odds(readings, is_southern=is_southern, threshold_c=threshold_c, is_spring=False)


def chance_of_frost_after(
    readings: Readings, month: int, day: int, *, is_southern: bool, threshold_c: float = FROST_C
) -> float | None:
    """Share of springs with a frost after the calendar day, 0 … 1; None without a complete spring."""
    years = _years(readings, is_southern=is_southern, is_spring=True)
    if not years:
        return None
    hits = 0
    for year in years:
        season = Season(year, is_southern)
        on = date(season.heat_from.year if month >= season.heat_from.month else season.heat_from.year + 1, month, day)
        last = season_frosts(readings, year, is_southern=is_southern, threshold_c=threshold_c).last
        hits += last is not None and last > on
    return hits / len(years)


def _odds(readings: Readings, *, is_southern: bool, threshold_c: float, is_spring: bool) -> FrostOdds:
    years = _years(readings, is_southern=is_southern, is_spring=is_spring)
    offsets = []
    for year in years:
        found = season_frosts(readings, year, is_southern=is_southern, threshold_c=threshold_c)
        on = found.last if is_spring else found.first
        if on is not None:
            offsets.append(_offset(on, Season(year, is_southern), is_spring=is_spring))
    without = len(years) - len(offsets)

    def at(part: float, least_seasons: int) -> date | None:
        if len(years) < least_seasons or len(offsets) <= len(years) / 2:
            return None
        season = Season(years[-1], is_southern)
        return _start(season, is_spring=is_spring) + timedelta(days=round(float(np.percentile(offsets, part))) - 1)

    return FrostOdds(
        early=at(10, SEASONS_FOR_TENTHS),
        median=at(50, SEASONS_FOR_MEDIAN),
        late=at(90, SEASONS_FOR_TENTHS),
        seasons=len(years),
        without_frost=without,
    )


def day_numbers(readings: Readings, *, is_southern: bool, is_spring: bool, threshold_c: float = FROST_C) -> list[int]:
    """The frost's day number in each complete season: of the calendar year in the north, from 1 July (spring) or
    1 January (autumn) in the south."""
    numbers = []
    for year in _years(readings, is_southern=is_southern, is_spring=is_spring):
        found = season_frosts(readings, year, is_southern=is_southern, threshold_c=threshold_c)
        on = found.last if is_spring else found.first
        if on is not None:
            numbers.append(_offset(on, Season(year, is_southern), is_spring=is_spring))
    return numbers


def _years(readings: Readings, *, is_southern: bool, is_spring: bool) -> list[int]:
    if readings.first is None or readings.last is None:
        return []
    span = range(readings.first.year - 1, readings.last.year + 2)
    return [y for y in span if is_complete(readings, y, is_southern=is_southern, is_spring=is_spring)]


def _start(season: Season, *, is_spring: bool) -> date:
    """The day counted as number 1."""
    if not season.is_southern or is_spring:
        return season.heat_from
    return date(season.midsummer.year, 1, 1)


def _offset(on: date, season: Season, *, is_spring: bool) -> int:
    return (on - _start(season, is_spring=is_spring)).days + 1


def _first_frost_of(days: Sequence[date], by_day: dict[date, float | None], threshold_c: float) -> date | None:
    missing = 0
    for on in days:
        low = by_day.get(on)
        if low is None:
            missing += 1
            if missing > MOST_MISSING_DAYS:
                return None
        elif low <= threshold_c:
            return on
    return None


def _backwards(start: date, stop: date) -> list[date]:
    return [start - timedelta(days=step) for step in range((start - stop).days + 1)]


def _forwards(start: date, stop: date) -> list[date]:
    return [start + timedelta(days=step) for step in range((stop - start).days + 1)]
