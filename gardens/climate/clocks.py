"""Warmth clocks: how the warmth of each possible year adds up, and at which sums a species reaches its stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gardens.climate.arrays import Floats
from gardens.climate.heat import degree_days_average, degree_days_capped, degree_days_triangle
from gardens.climate.phenology import OverlapBloom, SequenceBloom, ThermalSum, VineGrowth
from gardens.climate.season_weather import SeasonWeather


@dataclass(frozen=True, eq=False)
class Clock:
    """Sums by day, one row per year that could be, and the sum each stage needs in each row, in order of time.

    ``until`` is the day taken where the sum is never reached; ``lacks_chill`` says that most years stay below the
    chill the species wants.
    """

    heat: Floats
    marks: tuple[tuple[str, Floats], ...]
    until: int
    lacks_chill: bool = False


def overlap_clock(
    years: SeasonWeather, growth: OverlapBloom, least_chill: float, seen_bloom: int | None = None
) -> Clock:
    """Growing degree hours since the start of the heat season; stages lie at parts of the sum at full bloom.

    ``seen_bloom`` is the day number of an observed full bloom, which then sets the sum.
    """
    heat, chill = years.heat_sum, years.chill_sum
    start, until = years.index(years.season.heat_from), _day(years, 8, 15)
    if seen_bloom is not None:
        bloom = np.full(heat.shape[0], float(seen_bloom))
    else:
        felt = chill + growth.ice_day_portions * years.ice_days
        need = growth.warmth_gdh + growth.extra_gdh * np.exp(-growth.fading * felt[:, start:])
        bloom = start + first_day(heat[:, start:] >= need, until=until - start)
    at_bloom = np.maximum(at(heat, bloom), 1.0)
    parts = sorted((*growth.fractions, ("full_bloom", 1.0)), key=lambda part: part[1])
    return Clock(
        heat=heat,
        marks=tuple((stage, fraction * at_bloom) for stage, fraction in parts),
        until=until,
        lacks_chill=float(np.median(chill[:, _day(years, 2, 28)])) < least_chill,
    )


def sequence_clock(years: SeasonWeather, growth: SequenceBloom) -> Clock:
    """Linear degree hours from the day on which the chill is met; at the latest from the end of winter."""
    chill = years.winter_chill_sum
    latest = _day(years, 2, 28)
    met = first_day(chill >= growth.chill_portions, until=latest)
    hours = years.degree_hours(growth.base_c)
    is_counted = np.arange(hours.shape[1]) >= met[:, None]
    heat = (hours * is_counted).cumsum(axis=1)
    lacks_chill = float(np.median(met)) >= latest
    return Clock(heat=heat, marks=_alike(heat, growth.stages_gdh), until=_day(years, 8, 15), lacks_chill=lacks_chill)


def thermal_clock(years: SeasonWeather, growth: ThermalSum) -> Clock:
    """Degree-days of the daily mean since the start of the heat season."""
    daily = degree_days_average(years.tmin_c, years.tmax_c, growth.base_c)
    heat = _summed_from(daily, years.index(years.season.heat_from))
    return Clock(heat=heat, marks=_alike(heat, growth.stages_dd), until=_day(years, 9, 15, autumn=True))


def burst_clock(years: SeasonWeather, growth: VineGrowth) -> Clock:
    """Degree-days of a vine from early March to bud burst."""
    heat = _summed_from(degree_days_triangle(years.tmin_c, years.tmax_c, 0.0), _day(years, 3, 3))
    stages = (("bud_swell", growth.swell_dd), ("bud_burst", growth.burst_dd))
    return Clock(heat=heat, marks=_alike(heat, stages), until=_day(years, 8, 15))


def vine_clock(years: SeasonWeather, growth: VineGrowth, burst: Floats) -> Clock:
    """Capped degree-days of a vine from bud burst on."""
    daily = degree_days_capped(years.tmean_c, growth.low_c, growth.best_c, growth.heat_c)
    is_counted = np.arange(daily.shape[1]) >= burst[:, None]
    heat = (daily * is_counted).cumsum(axis=1)
    return Clock(heat=heat, marks=_alike(heat, growth.stages_dd), until=_day(years, 10, 31, autumn=True))


def first_day(is_reached: NDArray[np.bool_], *, until: int) -> Floats:
    """Number of the first true day of each row, ``until`` where there is none before it."""
    found = is_reached.argmax(axis=1)
    found = np.where(is_reached[np.arange(found.size), found], found, until)
    return np.minimum(found, until).astype(float)


def at(sums: Floats, days: Floats) -> Floats:
    """The sum of each row on its own day."""
    index = np.clip(days.astype(int), 0, sums.shape[1] - 1)
    values: Floats = sums[np.arange(sums.shape[0]), index]
    return values


def _alike(heat: Floats, stages: Sequence[tuple[str, float]]) -> tuple[tuple[str, Floats], ...]:
    return tuple((stage, np.full(heat.shape[0], need)) for stage, need in stages)


def _summed_from(daily: Floats, start: int) -> Floats:
    counted = daily.copy()
    counted[:, :start] = 0.0
    return counted.cumsum(axis=1)


def _day(years: SeasonWeather, month: int, day: int, *, autumn: bool = False) -> int:
    return years.index(years.season.on(month, day, autumn=autumn))
