"""The weather of one season at one place: what was measured, and from there on the years that could be."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property, lru_cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from gardens.climate.arrays import Floats
from gardens.climate.chill import chill_portions
from gardens.climate.heat import growing_degree_hours
from gardens.climate.hourly import hourly_temperatures
from gardens.climate.normals import LEAST_RANGE_K, PERSISTENCE, daily_normals, weather_noise, weather_spread
from gardens.climate.readings import fill_short_gaps
from gardens.climate.seasons import Season
from gardens.climate.values import DailyWeather, MonthlyNormals

Kept = TypeVar("Kept")

HEAT_UNTIL_DAY = 350
"""Heat is followed for so many days from the start of the chill season, beyond any bloom."""

CHILL_UNTIL_DAY = 280
"""Early June (December): later hours fix hardly any chill and no bud waits for it."""

KEPT_SEASONS = 160
"""Climates kept at once; each takes about half a megabyte."""

LATITUDE_STEP = 0.1
"""Degrees; about 11 km, half a minute of day length. Neighbours share the reckoning."""


@dataclass(frozen=True, eq=False)
class SeasonWeather:
    """Daily temperatures of a season, one row per year that could be; rows are alike where weather is known.

    ``is_known`` marks the measured days. Day numbers count from ``first``.
    """

    season: Season
    latitude_deg: float
    first: date
    tmin_c: Floats
    tmax_c: Floats
    is_known: NDArray[np.bool_]
    _memory: dict[Hashable, Any] = field(default_factory=dict, repr=False)

    def index(self, on: date) -> int:
        """The day's number in this season."""
        return (on - self.first).days

    def day(self, index: float) -> date:
        """The date of a day number, rounded to the nearest; halves go up, so that whole steps stay whole."""
        return self.first + timedelta(days=math.floor(index + 0.5))

    @property
    def tmean_c(self) -> Floats:
        """Daily means. [°C]"""
        return (self.tmin_c + self.tmax_c) / 2

    @cached_property
    def day_of_year(self) -> Floats:
        """1 … 366 of each day."""
        return np.array(
            [(self.first + timedelta(days=step)).timetuple().tm_yday for step in range(self.tmin_c.shape[1])],
            dtype=float,
        )

    @cached_property
    def last_known(self) -> int:
        """Number of the last measured day, −1 where none is."""
        known = np.flatnonzero(self.is_known)
        return int(known[-1]) if known.size else -1

    @cached_property
    def chill_sum(self) -> Floats:
        """Chill portions since the start of the chill season, at the end of each day."""
        return self._chill_and_heat[0]

    @cached_property
    def heat_sum(self) -> Floats:
        """Growing degree hours since the start of the heat season, at the end of each day."""
        return self._chill_and_heat[1]

    @property
    def ice_days(self) -> Floats:
        """Days that stayed at or below 0 °C since the start of the chill season, to each day."""
        is_ice = (self.tmax_c <= 0.0).astype(float)
        is_ice[:, : self.index(self.season.chill_from)] = 0.0
        return is_ice.cumsum(axis=1)

    def chill_sum_between(self, start: date, end: date) -> Floats:
        """Chill portions from ``start`` to ``end``, at the end of each day; zero before, constant after."""
        begin = self.index(start)
        return self.remembered(
            ("chill", start, end), lambda: self._chill(self._hourly_c(begin, self.index(end) + 1), begin)
        )

    def degree_hours(self, base_c: float) -> Floats:
        """Linear degree hours over a base, of each day of the heat season and the winter before it (not summed)."""

        def reckoned() -> Floats:
            begin = self.index(self.season.on(11, 1))
            full = np.zeros_like(self.tmin_c)
            hourly = self._hourly_c(begin, self.index(self.season.chill_from) + HEAT_UNTIL_DAY)
            full[:, begin : begin + hourly.shape[1]] = np.maximum(hourly - base_c, 0).sum(axis=2)
            return full

        return self.remembered(("degree_hours", base_c), reckoned)

    def remembered(self, key: Hashable, reckon: Callable[[], Kept]) -> Kept:
        """What was reckoned under ``key`` before, or what ``reckon`` gives now. Lives as long as this season."""
        if key not in self._memory:
            self._memory[key] = reckon()
        kept: Kept = self._memory[key]
        return kept

    @cached_property
    def _chill_and_heat(self) -> tuple[Floats, Floats]:
        """Both from one set of hours, as the hours are many and not worth keeping."""
        begin, warm = self.index(self.season.chill_from), self.index(self.season.heat_from)
        hourly = self._hourly_c(begin, begin + HEAT_UNTIL_DAY)
        chill = self._chill(hourly[:, :CHILL_UNTIL_DAY], begin)
        heat = growing_degree_hours(hourly[:, warm - begin :]).sum(axis=2)
        return chill, self._laid_out(heat, warm)

    def _hourly_c(self, start: int, end: int) -> Floats:
        """Hourly temperatures of the days ``start`` … ``end − 1``, the neighbours used at the edges."""
        before, after = start - 1, end + 1
        span = slice(before, after)
        hourly = hourly_temperatures(
            self.latitude_deg, self.day_of_year[span], self.tmin_c[:, span], self.tmax_c[:, span]
        )
        return hourly[:, 1:-1]

    def _chill(self, hourly: Floats, begin: int) -> Floats:
        unknown = np.flatnonzero(~self.is_known[begin:])
        days = hourly.shape[1]
        alike_days = int(unknown[0]) - 1 if unknown.size else days
        portions = chill_portions(hourly.reshape(hourly.shape[0], -1), alike_hours=24 * max(0, alike_days))
        return self._laid_out(portions.reshape(hourly.shape[0], days, 24).sum(axis=2), begin)

    def _laid_out(self, daily: Floats, start: int) -> Floats:
        """Cumulative sums in the season's own day numbers; the last value holds to the end."""
        sums = np.zeros_like(self.tmin_c)
        running = daily.cumsum(axis=1)
        sums[:, start : start + daily.shape[1]] = running
        sums[:, start + daily.shape[1] :] = running[:, -1:]
        return sums


@lru_cache(maxsize=KEPT_SEASONS)
def _season_weather(
    latitude_deg: float, season: Season, weather: tuple[DailyWeather, ...], normals: MonthlyNormals
) -> SeasonWeather:
    first = season.starts - timedelta(days=1)
    days = (season.ends - first).days + 1
    tmin, tmax = measured(weather, first, days)
    is_known = ~np.isnan(tmin)
    if is_known.all():
        filled_min, filled_max = tmin[None, :], tmax[None, :]
    else:
        filled_min, filled_max = _with_possible_years(tmin, tmax, normals, first, weather_spread(normals, latitude_deg))
    return SeasonWeather(
        season=season,
        latitude_deg=latitude_deg,
        first=first,
        tmin_c=filled_min,
        tmax_c=filled_max,
        is_known=is_known,
    )


def season_weather(
    latitude_deg: float,
    season: Season,
    weather: Sequence[DailyWeather],
    normals: MonthlyNormals,
    as_of: date | None = None,
) -> SeasonWeather:
    """The season's weather, measured where it is known and continued by the years that could be.

    Days outside the season or after ``as_of`` do not count. Latitude only sets the length of the day; it is rounded so
    that neighbours share the work. Ask with the same tuple of days again and again: it is then not even read.
    """
    rounded = round(latitude_deg / LATITUDE_STEP) * LATITUDE_STEP
    if not isinstance(weather, tuple):
        return _season_weather(rounded, season, _of_season(weather, season, as_of), normals)
    key = (id(weather), rounded, season, normals, as_of)
    if key not in _KNOWN_TUPLES:
        years = _season_weather(rounded, season, _of_season(weather, season, as_of), normals)
        while len(_KNOWN_TUPLES) >= KEPT_SEASONS:
            _KNOWN_TUPLES.pop(next(iter(_KNOWN_TUPLES), None), None)
        # The tuple is kept beside the answer: while it lives, its id cannot be given to another.
        _KNOWN_TUPLES[key] = (weather, years)
    return _KNOWN_TUPLES[key][1]


_KNOWN_TUPLES: dict[Hashable, tuple[tuple[DailyWeather, ...], SeasonWeather]] = {}


def _of_season(weather: Sequence[DailyWeather], season: Season, as_of: date | None) -> tuple[DailyWeather, ...]:
    first, last = season.starts - timedelta(days=1), season.ends
    if as_of is not None:
        last = min(last, as_of)
    return tuple(day for day in weather if first <= day.on <= last)


def measured(weather: Sequence[DailyWeather], first: date, days: int) -> tuple[Floats, Floats]:
    """Minimum and maximum of ``days`` days from ``first``, NaN where unknown, short gaps filled by straight lines.

    A day whose minimum lies above its maximum has the two swapped. Longer gaps are left to the years that could be.
    """
    tmin, tmax = np.full(days, np.nan), np.full(days, np.nan)
    for day in weather:
        index = (day.on - first).days
        if 0 <= index < days:
            tmin[index], tmax[index] = min(day.tmin_c, day.tmax_c), max(day.tmin_c, day.tmax_c)
    return fill_short_gaps(tmin), fill_short_gaps(tmax)


def _with_possible_years(
    tmin: Floats, tmax: Floats, normals: MonthlyNormals, first: date, spread: float
) -> tuple[Floats, Floats]:
    """The unknown days filled with normals and noise. After a measured day its departure fades into the noise."""
    days = tmin.size
    usual_min, usual_max = daily_normals(normals, first, days)
    noise = spread * weather_noise(days)
    lasting = np.zeros((2, days))
    drift = np.zeros(days)
    last = -1
    for day in range(days):
        if not np.isnan(tmin[day]):
            last = day
        elif last >= 0:
            fade = PERSISTENCE ** (day - last)
            lasting[:, day] = fade * (tmin[last] - usual_min[last]), fade * (tmax[last] - usual_max[last])
            drift[day] = fade
    noise = noise * np.sqrt(1 - drift**2)
    made_min = usual_min + lasting[0] + noise[0]
    made_max = np.maximum(usual_max + lasting[1] + noise[1], made_min + LEAST_RANGE_K)
    is_known = ~np.isnan(tmin)
    return np.where(is_known, tmin, made_min), np.where(is_known, tmax, made_max)
