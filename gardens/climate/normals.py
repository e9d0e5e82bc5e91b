"""From monthly normals to daily values, and to years that could be.

A smooth curve of mean temperatures has no cold nights and no warm spells, so chill and heat summed over it are wrong.
`possible_years` therefore lays weather noise over the curve; sums are taken per year and the median is reported.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gardens.climate.arrays import Floats
from gardens.climate.values import DailyWeather, MonthlyNormals

DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_STARTS = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)])
LAPSE_K_PER_M = 0.0065
"""Standard atmosphere (ISO 2533): air cools by 6.5 K per km of height."""
HEIGHT_STEP_M = 25.0

MEMBERS = 24
PERSISTENCE = 0.7
SPREAD_TMIN_K, SPREAD_TMAX_K = 2.6, 3.5
CORRELATION = 0.54
LEAST_RANGE_K = 0.5
MILD_WINTER_C, MIDDLE_LATITUDE_DEG = 6.0, 45.0
SPREAD_PER_K, SPREAD_PER_DEGREE, GREATEST_SPREAD = 0.05, 0.02, 1.6
NOISE_SEED = 20_240
"""Fixed, so that the same question always has the same answer."""


@lru_cache(maxsize=4096)
def _daily_curve(months: tuple[float, ...]) -> tuple[float, ...]:
    """365 values whose means over the months are exactly those given: two harmonics and a piecewise-linear rest."""
    targets = np.array(months)
    days = np.arange(365)
    waves = [np.ones(365)]
    for harmonic in (1, 2):
        angle = 2 * np.pi * harmonic * (days + 0.5) / 365
        waves += [np.cos(angle), np.sin(angle)]
    basis = np.array(waves).T
    means = np.array([basis[MONTH_STARTS[m] : MONTH_STARTS[m + 1]].mean(axis=0) for m in range(12)])
    coefficients, *_ = np.linalg.lstsq(means, targets, rcond=None)
    curve = basis @ coefficients
    return tuple((curve + _linear_rest(targets - _month_means(curve))).tolist())


def _linear_rest(rest: Floats) -> Floats:
    """A cyclic polyline through the month midpoints, lifted until its month means equal ``rest``."""
    middles = (MONTH_STARTS[:-1] + MONTH_STARTS[1:]) / 2
    around = np.concatenate([[middles[-1] - 365], middles, [middles[0] + 365]])
    nodes = rest.copy()
    line: Floats = np.zeros(365)
    for _ in range(200):
        line = np.interp(np.arange(365) + 0.5, around, np.concatenate([[nodes[-1]], nodes, [nodes[0]]]))
        change = rest - _month_means(line)
        nodes = nodes + change
        if np.abs(change).max() < 1e-6:
            break
    return line


def _month_means(curve: Floats) -> Floats:
    means: Floats = np.add.reduceat(curve, MONTH_STARTS[:-1]) / DAYS_IN_MONTH
    return means


def daily_normals(normals: MonthlyNormals, first: date, days: int) -> tuple[Floats, Floats]:
    """Usual minimum and maximum of consecutive days from ``first`` on. [°C] The month means are kept exactly."""
    index = _indices_in_year(first, days)
    tmin, tmax = np.array(_daily_curve(normals.tmin_c))[index], np.array(_daily_curve(normals.tmax_c))[index]
    return np.minimum(tmin, tmax), np.maximum(tmin, tmax)


@lru_cache(maxsize=64)
def _indices_in_year(first: date, days: int) -> NDArray[np.int_]:
    return np.array([_index_in_year(first + timedelta(days=step)) for step in range(days)])


def _index_in_year(on: date) -> int:
    """0 … 364; 29 February takes the value of the 28th."""
    return int(MONTH_STARTS[on.month - 1]) + min(on.day, int(DAYS_IN_MONTH[on.month - 1])) - 1


def at_height(normals: MonthlyNormals, *, from_m: float, to_m: float) -> MonthlyNormals:
    """The same normals at another height: 6.5 K cooler for each km higher. Rain is left as it is.

    The step is rounded to 25 m, finer than the lapse is known, so that neighbouring sites share their reckoning.
    """
    change = -LAPSE_K_PER_M * rounded_height_step(to_m - from_m)
    return MonthlyNormals(
        tmin_c=tuple(round(value + change, 3) for value in normals.tmin_c),
        tmax_c=tuple(round(value + change, 3) for value in normals.tmax_c),
        rain_mm=normals.rain_mm,
    )


def rounded_height_step(step_m: float) -> float:
    """A difference of height in whole steps of 25 m."""
    return round(step_m / HEIGHT_STEP_M) * HEIGHT_STEP_M


def weather_spread(normals: MonthlyNormals, latitude_deg: float) -> float:
    """How much stronger weather varies here than at Seattle, whose noise is the measure: 1 … 1.6.

    Grows as winters get colder and with the distance from the equator. Set on the frost dates of Seattle, Tudela,
    Remich and Klein-Altendorf, whose minima depart from the usual by 2.5, 2.7, 3.6 and 3.6 K.
    """
    coldest = min((low + high) / 2 for low, high in zip(normals.tmin_c, normals.tmax_c, strict=True))
    spread = (
        1 + SPREAD_PER_K * (MILD_WINTER_C - coldest) + SPREAD_PER_DEGREE * (abs(latitude_deg) - MIDDLE_LATITUDE_DEG)
    )
    return min(GREATEST_SPREAD, max(1.0, spread))


@lru_cache(maxsize=8)
def weather_noise(days: int) -> Floats:
    """Departures from the usual, shape (2, members, days): minimum and maximum of years that could be. [K]

    First-order autoregression with lag-1 correlation 0.7, the two elements correlated by 0.54. Half of the members
    mirror the other half, so their mean is exactly zero.
    """
    random = np.random.default_rng(NOISE_SEED)
    shocks = random.standard_normal((2, MEMBERS // 2, days))
    shocks = np.concatenate([shocks, -shocks], axis=1)
    shocks[1] = CORRELATION * shocks[0] + math.sqrt(1 - CORRELATION**2) * shocks[1]
    fresh = math.sqrt(1 - PERSISTENCE**2)
    noise: Floats = np.empty_like(shocks)
    noise[..., 0] = shocks[..., 0]
    for day in range(1, days):
        noise[..., day] = PERSISTENCE * noise[..., day - 1] + fresh * shocks[..., day]
    noise *= np.array([SPREAD_TMIN_K, SPREAD_TMAX_K])[:, None, None]
    return noise


def possible_years(normals: MonthlyNormals, first: date, days: int) -> tuple[Floats, Floats]:
    """Minimum and maximum of years that could be, each of shape (members, days). [°C]"""
    usual_min, usual_max = daily_normals(normals, first, days)
    noise = weather_noise(days)
    tmin = usual_min + noise[0]
    return tmin, np.maximum(usual_max + noise[1], tmin + LEAST_RANGE_K)


def normals_from_weather(days: Sequence[DailyWeather], least_days_per_month: int = 20) -> MonthlyNormals | None:
    """Monthly means of a record, each month of each year weighing alike; None where a month is never there.

    A month of a year counts with at least ``least_days_per_month`` days. Rain is the mean monthly sum over months in
    which no day lacks it, empty where some month has none. Ten years make fair normals, thirty good ones.
    """
    months: dict[tuple[int, int], list[DailyWeather]] = {}
    for day in days:
        months.setdefault((day.on.month, day.on.year), []).append(day)
    whole = {key: rows for key, rows in months.items() if len(rows) >= least_days_per_month}
    if {month for month, _ in whole} != set(range(1, 13)):
        return None

    def means(value: Callable[[DailyWeather], float]) -> tuple[float, ...]:
        yearly: dict[int, list[float]] = {}
        for (month, _), rows in whole.items():
            yearly.setdefault(month, []).append(sum(map(value, rows)) / len(rows))
        return tuple(round(sum(yearly[month]) / len(yearly[month]), 2) for month in range(1, 13))

    tmin = means(lambda day: min(day.tmin_c, day.tmax_c))
    tmax = means(lambda day: max(day.tmin_c, day.tmax_c))
    return MonthlyNormals(tmin_c=tmin, tmax_c=tmax, rain_mm=_usual_rain(whole))


def _usual_rain(months: Mapping[tuple[int, int], Sequence[DailyWeather]]) -> tuple[float, ...]:
    sums: dict[int, list[float]] = {}
    for (month, _), rows in months.items():
        measured = [day.rain_mm for day in rows if day.rain_mm is not None]
        if len(measured) == len(rows):
            sums.setdefault(month, []).append(sum(measured) / len(rows) * float(DAYS_IN_MONTH[month - 1]))
    if len(sums) < 12:
        return ()
    return tuple(round(sum(sums[month]) / len(sums[month]), 1) for month in range(1, 13))
