"""Daily readings of a station as they were brought: some days lack an element, some are not there at all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.values import DailyWeather

LONGEST_FILLED_GAP = 5
"""Days. Shorter gaps are bridged by a straight line, longer ones leave chill and heat unknown."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What was measured on one day; None where nothing was. Temperatures in °C, rain in mm, mean wind in m/s."""

    on: date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None
    wind_ms: float | None = None

    @property
    def has_temperatures(self) -> bool:
        """Whether both temperatures are there."""
        return self.tmin_c is not None and self.tmax_c is not None


@dataclass(frozen=True, kw_only=True)
class Station:
    """A weather station. ``elevation_m`` is None where it is not known."""

    key: str
    name: str = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None


@dataclass(frozen=True, kw_only=True)
class Gap:
    """Days in a row without both temperatures, first and last included."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """Length of the gap."""
        return (self.last - self.first).days + 1

    @property
    def is_bridged(self) -> bool:
        """Whether sums may bridge it by a straight line."""
        return self.days <= LONGEST_FILLED_GAP


@dataclass(frozen=True, kw_only=True)
class Readings:
    """The readings of one station in order of time, each day at most once, and what was odd about the file."""

    readings: tuple[Reading, ...]
    station: Station | None = None
    notes: tuple[str, ...] = ()

    @property
    def first(self) -> date | None:
        """First day of the file."""
        return self.readings[0].on if self.readings else None

    @property
    def last(self) -> date | None:
        """Last day of the file."""
        return self.readings[-1].on if self.readings else None

    @property
    def days(self) -> tuple[DailyWeather, ...]:
        """The days with both temperatures."""
        return tuple(
            DailyWeather(
                on=reading.on,
                tmin_c=reading.tmin_c,
                tmax_c=reading.tmax_c,
                rain_mm=reading.rain_mm,
                wind_ms=reading.wind_ms,
            )
            for reading in self.readings
            if reading.tmin_c is not None and reading.tmax_c is not None
        )

    def gaps(self, first: date | None = None, last: date | None = None) -> tuple[Gap, ...]:
        """Every stretch of days without both temperatures from ``first`` to ``last`` (default: the file's own span)."""
        begin, end = first or self.first, last or self.last
        if begin is None or end is None:
            return ()
        whole = {reading.on for reading in self.readings if reading.has_temperatures}
        lacking = (
            begin + timedelta(days=step)
            for step in range((end - begin).days + 1)
            if begin + timedelta(days=step) not in whole
        )
        return tuple(_runs(lacking))

    def missing(self, first: date | None = None, last: date | None = None) -> int:
        """How many days of the span lack a temperature."""
        return sum(gap.days for gap in self.gaps(first, last))

    def arrays(self) -> tuple[date, Floats, Floats]:
        """First day, minimum and maximum of every day of the span, NaN where not measured.

        Raises:
            ValueError: when there is no reading at all.
        """
        if self.first is None or self.last is None:
            raise ValueError("there are no readings")
        days = (self.last - self.first).days + 1
        tmin, tmax = np.full(days, np.nan), np.full(days, np.nan)
        for reading in self.readings:
            index = (reading.on - self.first).days
            tmin[index] = np.nan if reading.tmin_c is None else reading.tmin_c
            tmax[index] = np.nan if reading.tmax_c is None else reading.tmax_c
        return self.first, tmin, tmax


def gap_report(readings: Readings) -> str:
    """What is missing, in sentences an office can read."""
    gaps = readings.gaps()
    if not readings.readings:
        return "The file holds no day."
    span = f"{readings.first} to {readings.last}, {len(readings.readings)} days read."
    if not gaps:
        return f"{span} No day is missing."
    long_ones = [gap for gap in gaps if not gap.is_bridged]
    lines = [f"{span} {readings.missing()} days lack a temperature, in {len(gaps)} gaps."]
    if len(long_ones) < len(gaps):
        lines.append(f"Gaps of up to {LONGEST_FILLED_GAP} days are bridged by a straight line.")
    lines += [f"{gap.first} to {gap.last}: {gap.days} days, too long to bridge." for gap in long_ones]
    return "\n".join([*lines, *readings.notes])


def fill_short_gaps(values: Floats, longest: int = LONGEST_FILLED_GAP) -> Floats:
    """Gaps of at most ``longest`` days between measured days filled by straight lines; longer ones stay NaN."""
    known = np.flatnonzero(~np.isnan(values))
    filled = values.copy()
    if known.size < 2:
        return filled
    for place in np.flatnonzero(np.diff(known) > 1):
        left, right = int(known[place]), int(known[place + 1])
        if right - left <= longest + 1:
            inside = np.arange(left + 1, right)
            filled[inside] = np.interp(inside, [left, right], [values[left], values[right]])
    return filled


def _runs(days: Iterable[date]) -> list[Gap]:
    gaps: list[Gap] = []
    for day in days:
        if gaps and (day - gaps[-1].last).days == 1:
            gaps[-1] = Gap(first=gaps[-1].first, last=day)
        else:
            gaps.append(Gap(first=day, last=day))
    return gaps
