"""This year against the usual, as numbers for a chart: chill of the winter, warmth of the growing season."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.estimate import estimated_normals
from gardens.climate.heat import degree_days_average
from gardens.climate.season_weather import SeasonWeather, season_weather
from gardens.climate.seasons import Season
from gardens.climate.values import DailyWeather, MonthlyNormals, Place

HEAT_BASE_C = 5.0


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A running sum by day. ``usual`` is the middle year, ``low`` and ``high`` the outer tenths.

    ``this_year`` ends with the last measured day; it is empty where this season has no weather. It starts from the
    usual sum where the measuring began later than the sum.
    """

    name: str
    unit: str
    days: tuple[date, ...]
    usual: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    this_year: tuple[float, ...]

    @property
    def ahead_days(self) -> int | None:
        """Days by which this year is ahead of (positive) or behind the usual on its last measured day."""
        if not self.this_year:
            return None
        reached = self.this_year[-1]
        usual_day = next((number for number, value in enumerate(self.usual) if value >= reached), len(self.usual) - 1)
        return usual_day - (len(self.this_year) - 1)


@dataclass(frozen=True, kw_only=True)
class SeasonChart:
    """Chill portions from autumn to the end of spring, degree-days over 5 °C through the growing season."""

    season_year: int
    chill: Curve
    heat: Curve
    missing: int
    """Days without weather between the first and the last measured day of the season."""


def season_chart(
    place: Place,
    season_year: int,
    weather: Sequence[DailyWeather] = (),
    normals: MonthlyNormals | None = None,
    as_of: date | None = None,
) -> SeasonChart:
    """Chill and heat of a season against the usual."""
    season = Season(season_year, place.is_southern)
    usual_weather = normals or estimated_normals(place)
    usual = season_weather(place.latitude_deg, season, (), usual_weather)
    actual = season_weather(place.latitude_deg, season, weather, usual_weather, as_of)
    spring_end, autumn_end = season.on(5, 31), season.on(10, 31, autumn=True)
    chill = _Sums("chill", "chill portions", season.chill_from, spring_end, usual.chill_sum, actual.chill_sum)
    heat = _Sums("heat", "degree-days", season.heat_from, autumn_end, _heat(usual), _heat(actual))
    measured = np.flatnonzero(actual.is_known)
    missing = int(measured[-1] - measured[0] + 1 - measured.size) if measured.size else 0
    return SeasonChart(season_year=season_year, chill=_curve(chill, actual), heat=_curve(heat, actual), missing=missing)


def _heat(years: SeasonWeather) -> Floats:
    daily = degree_days_average(years.tmin_c, years.tmax_c, HEAT_BASE_C)
    daily[:, : years.index(years.season.heat_from)] = 0.0
    return daily.cumsum(axis=1)


@dataclass(frozen=True, eq=False)
class _Sums:
    name: str
    unit: str
    first: date
    last: date
    usual: Floats
    actual: Floats


def _curve(sums: _Sums, actual: SeasonWeather) -> Curve:
    begin, end = actual.index(sums.first), actual.index(sums.last) + 1
    low, middle, high = np.percentile(sums.usual[:, begin:end], (10, 50, 90), axis=0)
    until = min(actual.last_known + 1, end)
    has_weather = until > begin and bool(actual.is_known[begin:until].any())
    this_year = np.median(sums.actual[:, begin:until], axis=0) if has_weather else np.zeros(0)
    return Curve(
        name=sums.name,
        unit=sums.unit,
        days=tuple(sums.first + timedelta(days=step) for step in range(end - begin)),
        usual=_rounded(middle),
        low=_rounded(low),
        high=_rounded(high),
        this_year=_rounded(this_year),
    )


def _rounded(values: Floats) -> tuple[float, ...]:
    return tuple(round(float(value), 1) for value in values)
