"""The weather of one season at one place: what was measured, and from there on the years that could be."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property, lru_cache
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from gardens.climate.arrays import Floats
from gardens.climate.hourly_sums import Columns, SumsAsked, daily_sums
from gardens.climate.normals import LEAST_RANGE_K, PERSISTENCE, daily_normals, weather_noise, weather_spread
from gardens.climate.readings import fill_short_gaps
from gardens.climate.seasons import Season
from gardens.climate.values import DailyWeather, MonthlyNormals

Kept = TypeVar("Kept")

HEAT_UNTIL_DAY = 350
"""Heat is followed for so many days from the start of the chill season, beyond any bloom."""

CHILL_UNTIL_DAY = 280
"""Early June (December): later hours fix hardly any chill and no bud waits for it."""

PLACES_AT_ONCE = 150
"""Places reckoned together; their sums take about 60 megabytes meanwhile."""

KEPT_SEASONS = 160
"""Climates kept at once; each takes about half a megabyte."""

SumName = Literal["chill", "winter", "heat"] | float
"""What hours add up to: chill of the season or of the winter alone, warmth, or linear degree hours over a base."""
USUAL_SUMS: tuple[SumName, ...] = ("chill", "heat")

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

    @property
    def day_of_year(self) -> Floats:
        """1 … 366 of each day."""
        return _days_of_year(self.first, self.tmin_c.shape[1])

    @cached_property
    def last_known(self) -> int:
        """Number of the last measured day, −1 where none is."""
        known = np.flatnonzero(self.is_known)
        return int(known[-1]) if known.size else -1

    def known_days(self, begin: int, end: int) -> int:
        """How many of the days ``begin`` … ``end − 1`` were measured."""
        counted = self._known_to
        return counted[min(end, len(counted) - 1)] - counted[min(begin, len(counted) - 1)] if end > begin else 0

    @cached_property
    def _known_to(self) -> list[int]:
        counted: list[int] = [0, *self.is_known.cumsum().tolist()]
        return counted

    @property
    def chill_sum(self) -> Floats:
        """Chill portions since the start of the chill season, at the end of each day."""
        return self._sum("chill")

    @property
    def winter_chill_sum(self) -> Floats:
        """Chill portions from 1 November to 28 February (May to August), the store empty at the first."""
        return self._sum("winter")

    @property
    def heat_sum(self) -> Floats:
        """Growing degree hours since the start of the heat season, at the end of each day."""
        return self._sum("heat")

    @property
    def ice_days(self) -> Floats:
        """Days that stayed at or below 0 °C since the start of the chill season, to each day."""

        def reckoned() -> Floats:
            is_ice = (self.tmax_c <= 0.0).astype(float)
            is_ice[:, : self.index(self.season.chill_from)] = 0.0
            return is_ice.cumsum(axis=1)

        return self.remembered("ice_days", reckoned)

    def degree_hours(self, base_c: float) -> Floats:
        """Linear degree hours over a base, of each day of the heat season and the winter before it (not summed)."""
        return self._sum(base_c)

    def remembered(self, key: Hashable, reckon: Callable[[], Kept]) -> Kept:
        """What was reckoned under ``key`` before, or what ``reckon`` gives now. Lives as long as this season."""
        if key not in self._memory:
            self._memory[key] = reckon()
        kept: Kept = self._memory[key]
        return kept

    def _sum(self, name: SumName) -> Floats:
        if ("sum", name) not in self._memory:
            reckon_together([self], USUAL_SUMS if name in USUAL_SUMS else (name,))
        found: Floats = self._memory["sum", name]
        return found

    def lacks(self, name: SumName) -> bool:
        """Whether a sum was not reckoned yet."""
        return ("sum", name) not in self._memory

    def keep(self, name: SumName, sums: Floats) -> None:
        """Leave a sum that was reckoned elsewhere."""
        self._memory["sum", name] = sums

    def laid_out(self, daily: Floats, start: int) -> Floats:
        """Cumulative sums in the season's own day numbers; the last value holds to the end."""
        sums = np.zeros_like(self.tmin_c)
        running = daily.cumsum(axis=1)
        sums[:, start : start + daily.shape[1]] = running
        sums[:, start + daily.shape[1] :] = running[:, -1:]
        return sums


def reckon_together(seasons: Iterable[SeasonWeather], names: Sequence[SumName] = USUAL_SUMS) -> None:
    """Reckon the sums of many places in one go and leave them with each.

    Each would do so by itself when asked, at many times the cost.
    """
    alike: dict[Season, dict[int, SeasonWeather]] = {}
    for years in seasons:
        if any(years.lacks(name) for name in names):
            alike.setdefault(years.season, {})[id(years)] = years
    for season, places in alike.items():
        for start in range(0, len(places), PLACES_AT_ONCE):
            _reckon_season(season, list(places.values())[start : start + PLACES_AT_ONCE], names)


def _reckon_season(season: Season, places: Sequence[SeasonWeather], names: Sequence[SumName]) -> None:
    one = places[0]
    begin, warm, cold = one.index(season.chill_from), one.index(season.heat_from), one.index(season.on(11, 1))
    spans = {"chill": (0, CHILL_UNTIL_DAY), "winter": (cold - begin, one.index(season.on(2, 28)) + 1 - begin)}
    chills = [name for name in names if name in spans]
    bases = [name for name in names if not isinstance(name, str)]
    asked = SumsAsked(
        chill=tuple(spans[str(name)] for name in chills),
        heat=(warm - begin, HEAT_UNTIL_DAY) if "heat" in names else (0, 0),
        bases=tuple(bases),
        alike_days=min(_alike_days(years, begin) for years in places),
    )
    span = slice(begin - 1, begin + HEAT_UNTIL_DAY + 1)
    columns = [
        Columns(
            years.latitude_deg, tuple(years.day_of_year[span].tolist()), years.tmin_c[:, span], years.tmax_c[:, span]
        )
        for years in places
    ]
    for years, sums in zip(places, daily_sums(columns, asked), strict=True):
        for name, daily in zip(chills, sums.chill, strict=True):
            years.keep(name, years.laid_out(daily, begin + spans[str(name)][0]))
        if "heat" in names:
            years.keep("heat", years.laid_out(sums.heat, warm))
        for base, daily in zip(bases, sums.over_base, strict=True):
            full = np.zeros_like(years.tmin_c)
            full[:, cold : begin + HEAT_UNTIL_DAY] = daily[:, cold - begin :]
            years.keep(base, full)


def _alike_days(years: SeasonWeather, begin: int) -> int:
    """Days from ``begin`` on whose hours are the same in all years; an evening leans on the day that follows."""
    unknown = np.flatnonzero(~years.is_known[begin:])
    return max(0, int(unknown[0]) - 1) if unknown.size else years.is_known.size - begin


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


@lru_cache(maxsize=64)
def _days_of_year(first: date, days: int) -> Floats:
    return np.array([(first + timedelta(days=step)).timetuple().tm_yday for step in range(days)], dtype=float)


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
    is_known = ~np.isnan(tmin)
    # The last measured day before each, −1 where there is none.
    last = np.maximum.accumulate(np.where(is_known, np.arange(days), -1))
    drift = np.where(~is_known & (last >= 0), PERSISTENCE ** (np.arange(days) - last), 0.0)
    before = np.maximum(last, 0)
    lasting = [
        np.where(drift > 0, drift * (seen[before] - usual[before]), 0.0)
        for seen, usual in ((tmin, usual_min), (tmax, usual_max))
    ]
    noise = noise * np.sqrt(1 - drift**2)
    made_min = usual_min + lasting[0] + noise[0]
    made_max = np.maximum(usual_max + lasting[1] + noise[1], made_min + LEAST_RANGE_K)
    return np.where(is_known, tmin, made_min), np.where(is_known, tmax, made_max)
