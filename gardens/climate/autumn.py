"""Leaves and frosts: what every tree of a site shares in a season. Day numbers, one per year that could be."""

from __future__ import annotations

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.clocks import first_day
from gardens.climate.daylight import day_length_hours
from gardens.climate.season_weather import SeasonWeather

LEAVES_FALL_BELOW_C = 7.0
LEAVES_FALL_MEAN_DAYS = 7
SHORT_DAYS_K_PER_DAY = 0.1
WINTER_WITHOUT_COLD = 30
"""Days before the latest day of leaf fall from which short days count."""

COLOUR_BELOW_C, COLOUR_BELOW_H, COLOUR_SUM = 28.5, 14.5, 8268.0
FROST_C = 0.0
WINTER_DAYS_SEARCHED = 60


def leaf_fall_days(years: SeasonWeather, *, autumn: bool) -> Floats:
    """The day the leaves are down (BBCH 97): of the autumn before bloom, or with ``autumn`` of the one after it.

    The first day after 22 September (22 March) on which the mean of a week is 7 °C or less, 31 December (30 June) at
    the latest. In the last month the limit rises by a tenth of a degree a day, as short days alone strip a tree in a
    mild winter. Program default; agrees with the usual dates in Britain, Germany, Navarre, Washington and New Zealand.
    """
    begin = years.index(years.season.on(9, 22, autumn=autumn))
    end = years.index(years.season.on(12, 31, autumn=autumn))
    sums = np.cumsum(years.tmean_c, axis=1)
    week = (sums[:, LEAVES_FALL_MEAN_DAYS:] - sums[:, :-LEAVES_FALL_MEAN_DAYS]) / LEAVES_FALL_MEAN_DAYS
    into_winter = np.arange(week.shape[1]) + LEAVES_FALL_MEAN_DAYS - (end - WINTER_WITHOUT_COLD)
    limit = LEAVES_FALL_BELOW_C + SHORT_DAYS_K_PER_DAY * np.maximum(into_winter, 0)
    is_cold = (week <= limit)[:, begin + 1 - LEAVES_FALL_MEAN_DAYS :]
    return begin + 1 + first_day(is_cold, until=end - begin - 1)


def leaf_colour_days(years: SeasonWeather) -> Floats:
    """The day the leaves turn in the autumn that ends the season: cold and short days add up.

    Form of Delpierre et al. (2009) with the parameters of beech; never later than a week before the leaves are down.
    """
    hours = day_length_hours(years.latitude_deg, years.day_of_year)
    start, end = years.index(years.season.on(7, 1)), years.index(years.season.on(12, 24, autumn=True))
    cold = np.maximum(COLOUR_BELOW_C - years.tmean_c, 0.0) ** 2 * (hours / COLOUR_BELOW_H) ** 2
    is_counted = (hours < COLOUR_BELOW_H) & (np.arange(hours.size) >= start)
    turned = first_day((cold * is_counted).cumsum(axis=1) >= COLOUR_SUM, until=end)
    return np.minimum(turned, leaf_fall_days(years, autumn=True) - LEAVES_FALL_MEAN_DAYS)


def frost_days(years: SeasonWeather) -> tuple[Floats, Floats]:
    """Last frost of spring and first frost of autumn, NaN in years without."""
    is_frost = years.tmin_c <= FROST_C
    middle = years.index(years.season.midsummer)
    winter = years.index(years.season.heat_from) - WINTER_DAYS_SEARCHED
    backwards = is_frost[:, winter:middle][:, ::-1]
    last = np.where(backwards.any(axis=1), middle - 1.0 - backwards.argmax(axis=1), np.nan)
    forwards = is_frost[:, middle:]
    first = np.where(forwards.any(axis=1), middle + forwards.argmax(axis=1).astype(float), np.nan)
    return last, first
