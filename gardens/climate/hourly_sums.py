"""Chill and warmth of many places and years at once, day by day.

One winter of one place takes a tenth of a second when its hours are worked one by one; a book of gardens holds a hundred
places, each in two dozen years that could be. Here every place and year is a column, and each hour is one step for all
columns. The hours live only for a few days at a time, so that they stay in the processor's cache.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from gardens.climate.arrays import Floats
from gardens.climate.chill import fixed_portions, fixed_share, store_rates
from gardens.climate.heat import growing_degree_hours, linear_degree_hours
from gardens.climate.hourly import hourly_temperatures

DAYS_AT_ONCE = 6
HOURS = 24
FEW_COLUMNS = 100
"""Up to here a loop over each column's hours is quicker than a loop over the hours of all."""


@dataclass(frozen=True, eq=False)
class Columns:
    """Daily temperatures of one place, shape (years, days), with a day more on either side. [°C]

    ``day_of_year`` are the days' numbers in the calendar, 1 … 366, edges included.
    """

    latitude_deg: float
    day_of_year: tuple[float, ...]
    tmin_c: Floats
    tmax_c: Floats


@dataclass(frozen=True, kw_only=True)
class SumsAsked:
    """Which sums are wanted. Days are counted from the first whole day, ends are not included.

    ``chill`` are spans that each begin with an empty store, ``heat`` the span of growing degree hours, ``bases`` the
    bases of linear degree hours, wanted of all days. On the first ``alike_days`` days all years of a place are alike.
    """

    chill: tuple[tuple[int, int], ...] = ()
    heat: tuple[int, int] = (0, 0)
    bases: tuple[float, ...] = ()
    alike_days: int = 0


@dataclass(frozen=True, eq=False)
class DailySums:
    """Of each day, shape (years, days): chill portions by span, growing degree hours, linear degree hours by base."""

    chill: tuple[Floats, ...]
    heat: Floats
    over_base: tuple[Floats, ...]


def daily_sums(places: Sequence[Columns], asked: SumsAsked) -> tuple[DailySums, ...]:
    """The sums of each place, in their order. All places hold the same days."""
    order = sorted(range(len(places)), key=lambda number: (places[number].latitude_deg, number))
    sorted_places = [places[number] for number in order]
    run = _Run(sorted_places, asked)
    days = len(places[0].day_of_year) - 2
    alike = min(asked.alike_days, days)
    run.work(0, alike, years=1)
    run.work(alike, days)
    found: dict[int, DailySums] = dict(zip(order, run.by_place(), strict=True))
    return tuple(found[number] for number in range(len(places)))


class _Run:
    """The columns of all places side by side, with what each has in store."""

    def __init__(self, places: Sequence[Columns], asked: SumsAsked) -> None:
        self._places, self._asked = places, asked
        self._years = [place.tmin_c.shape[0] for place in places]
        columns, days = sum(self._years), len(places[0].day_of_year) - 2
        self._chill = [np.zeros((days + 1, columns)) for _ in asked.chill]
        self._stores = [np.zeros(len(places)) for _ in asked.chill]
        self._heat = np.zeros((days, columns))
        self._over_base = [np.zeros((days, columns)) for _ in asked.bases]

    def work(self, first: int, last: int, years: int | None = None) -> None:
        """The days ``first`` … ``last − 1``, with all years of a place or only the first few, which stand for all."""
        counts = [years or count for count in self._years]
        if years is None:
            self._stores = [
                np.repeat(store, self._years) if store.size != sum(counts) else store for store in self._stores
            ]
        spread: slice | NDArray[np.int_] = np.repeat(np.arange(len(counts)), self._years) if years else slice(None)
        for begin in range(first, last, DAYS_AT_ONCE):
            end = min(begin + DAYS_AT_ONCE, last)
            hours = self._hours(begin, end, counts)
            self._add_chill(hours, begin, spread)
            self._add_warmth(hours, begin, spread)

    def _hours(self, begin: int, end: int, counts: Sequence[int]) -> Floats:
        """Hourly temperatures, shape (days, hours, columns)."""
        hours = np.empty((end - begin, HOURS, sum(counts)))
        start = 0
        numbered = zip(self._places, counts, strict=True)
        for _, group in groupby(numbered, key=lambda pair: (pair[0].latitude_deg, pair[0].day_of_year)):
            pairs = list(group)
            low = np.concatenate([place.tmin_c[:count, begin : end + 2] for place, count in pairs]).T
            high = np.concatenate([place.tmax_c[:count, begin : end + 2] for place, count in pairs]).T
            weights = _weights(pairs[0][0].latitude_deg, pairs[0][0].day_of_year)[begin:end]
            parts = np.stack([low[1:-1], high[1:-1], low[:-2], high[:-2], low[2:]], axis=1)
            hours[:, :, start : start + low.shape[1]] = weights @ parts
            start += low.shape[1]
        return hours

    def _add_chill(self, hours: Floats, begin: int, spread: slice | NDArray[np.int_]) -> None:
        days = hours.shape[0]
        wanted = [
            number for number, (start, stop) in enumerate(self._asked.chill) if start < begin + days and stop > begin
        ]
        if not wanted:
            return
        gain, stays = store_rates(hours)
        for number in wanted:
            start, stop = self._asked.chill[number]
            fixed = _fixed_by_day(hours, gain, stays, self._stores[number], (start - begin, stop - begin))
            kept = self._chill[number][begin : begin + days + 1]
            np.add(kept, fixed[:, spread], out=kept)

    def _add_warmth(self, hours: Floats, begin: int, spread: slice | NDArray[np.int_]) -> None:
        span = slice(begin, begin + hours.shape[0])
        start, stop = max(self._asked.heat[0] - begin, 0), min(self._asked.heat[1] - begin, hours.shape[0])
        if start < stop:
            warmth = growing_degree_hours(hours[start:stop]).sum(axis=1)
            self._heat[begin + start : begin + stop] = warmth[:, spread]
        for number, base in enumerate(self._asked.bases):
            self._over_base[number][span] = linear_degree_hours(hours, base).sum(axis=1)[:, spread]

    def by_place(self) -> list[DailySums]:
        found, start = [], 0
        for count in self._years:
            own = slice(start, start + count)
            start += count
            found.append(
                DailySums(
                    chill=tuple(
                        np.ascontiguousarray(chill[first:last, own].T)
                        for chill, (first, last) in zip(self._chill, self._asked.chill, strict=True)
                    ),
                    heat=np.ascontiguousarray(self._heat[self._asked.heat[0] : self._asked.heat[1], own].T),
                    over_base=tuple(np.ascontiguousarray(over[:, own].T) for over in self._over_base),
                )
            )
        return found


def _fixed_by_day(hours: Floats, gain: Floats, stays: Floats, store: Floats, span: tuple[int, int]) -> Floats:
    """Portions fixed on each of the days and the one after, as an hour's work shows in the next. Changes ``store``."""
    days, _, columns = hours.shape
    fixed = np.zeros((days + 1, columns))
    first, end = max(span[0], 0) * HOURS, min(days * HOURS, span[1] * HOURS - 1)
    if columns <= FEW_COLUMNS:
        flat = [part.reshape(days * HOURS, columns)[first:end].T for part in (hours, gain, stays)]
        for column in range(columns):
            warmth, grown, kept = (part[column] for part in flat)
            full_at, fixed_then, store[column] = fixed_portions(warmth, grown, kept, float(store[column]))
            for hour, portion in zip(full_at, fixed_then, strict=True):
                fixed[(first + hour + 1) // HOURS, column] += portion
        return fixed
    for hour in range(first, end):
        day, of_day = divmod(hour, HOURS)
        store *= stays[day, of_day]
        store += gain[day, of_day]
        full = (store >= 1.0).nonzero()[0]
        if full.size:
            portions = store[full] * fixed_share(hours[day, of_day, full])
            fixed[day + (of_day == HOURS - 1), full] += portions
            store[full] -= portions
    return fixed


@lru_cache(maxsize=64)
def _weights(latitude_deg: float, day_of_year: tuple[float, ...]) -> Floats:
    """How much each hour takes of its day's minimum and maximum, those of the day before, and the next minimum.

    Hourly temperatures are a weighted sum of these five; asking for them with ones on every third day and noughts on
    the others shows the weights. Shape (days, hours, 5).
    """
    days = np.arange(len(day_of_year))
    ones = (days[None, :] % 3 == np.arange(3)[:, None]).astype(float)
    low = np.concatenate([ones, np.zeros_like(ones)])
    shown = hourly_temperatures(latitude_deg, np.array(day_of_year), low, np.concatenate([np.zeros_like(ones), ones]))
    inner = days[1:-1]
    own, before, after = inner % 3, (inner - 1) % 3, (inner + 1) % 3
    return np.stack(
        [shown[own, inner], shown[own + 3, inner], shown[before, inner], shown[before + 3, inner], shown[after, inner]],
        axis=2,
    )
