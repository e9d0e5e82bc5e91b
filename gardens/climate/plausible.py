"""Is what a weather file says possible? Every doubt is kept with its row, so that a person can mend all at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from business.errors import BadInput, Fault
from gardens.climate.readings import Reading, Readings, Station

Units = Literal["celsius", "fahrenheit", "tenths_celsius"]

COLDEST_C, HOTTEST_C = -60.0, 60.0
NO_YEAR_SO_WARM_C = 40.0
"""No place on Earth has a mean of 40 °C over a month's file; one that seems to is in °F."""
DAYS_TO_JUDGE_UNITS = 28
TENTHS_LOOK_LIKE_C = 135.0
"""A value above this is no °F of any weather either: most likely tenths of a degree."""
WETTEST_DAY_MM = 2000.0
STRONGEST_MEAN_WIND_MS = 75.0


@dataclass(frozen=True, kw_only=True)
class FileChoices:
    """What the person who brings a file may say about it.

    ``file`` is the name faults speak of. ``units`` are those of the temperatures where the layout leaves them open.
    ``station`` picks one of several. ``swap_reversed`` accepts days whose minimum lies above their maximum and turns
    the two round, as long records of real stations hold a few.
    """

    file: str = "weather file"
    units: Units | None = None
    station: str | None = None
    swap_reversed: bool = False


@dataclass(frozen=True, kw_only=True)
class RawDay:
    """A reading and the row it stands in."""

    row: int
    reading: Reading


def in_celsius(value: float, units: Units) -> float:
    """A temperature of a file in °C."""
    if units == "fahrenheit":
        return round((value - 32) / 1.8, 2)
    return value / 10 if units == "tenths_celsius" else value


def checked(
    days: Sequence[RawDay],
    choices: FileChoices,
    faults: Sequence[Fault] = (),
    station: Station | None = None,
    notes: Sequence[str] = (),
) -> Readings:
    """The readings in order of time, if nothing is wrong with them.

    Raises:
        BadInput: with ``faults`` and every further fault, each with its row.
    """
    found = [*faults, *_order_faults(days, choices.file)]
    kept, reversed_rows = _unreversed(days, choices)
    if not choices.swap_reversed:
        found += [_reversed_fault(day, choices.file) for day in reversed_rows]
    units_fault = _units_fault(days, choices.file)
    found += [units_fault] if units_fault else [fault for day in days for fault in _range_faults(day, choices.file)]
    if found:
        raise BadInput(sorted(found, key=_row_number))
    said = list(notes)
    if reversed_rows:
        rows = ", ".join(str(day.row) for day in reversed_rows[:10])
        said.append(f"Minimum and maximum turned on {len(reversed_rows)} days (rows {rows}).")
    ordered = sorted((day.reading for day in kept), key=lambda reading: reading.on)
    return Readings(readings=tuple(ordered), station=station, notes=tuple(said))


def _row_number(fault: Fault) -> int:
    match = re.search(r", row (\d+)", fault.where)
    return int(match.group(1)) if match else 0


def _order_faults(days: Sequence[RawDay], file: str) -> list[Fault]:
    faults, seen = [], dict[date, int]()
    latest: RawDay | None = None
    for day in days:
        on = day.reading.on
        if on in seen:
            wrong = f"{on} stands in row {seen[on]} already"
            faults.append(Fault(f"{file}, row {day.row}, date", wrong, "keep one row for each day"))
        elif latest is not None and on < latest.reading.on:
            wrong = f"{on} comes after {latest.reading.on}"
            faults.append(Fault(f"{file}, row {day.row}, date", wrong, "sort the rows by date"))
        seen.setdefault(on, day.row)
        if latest is None or on > latest.reading.on:
            latest = day
    return faults


def _unreversed(days: Sequence[RawDay], choices: FileChoices) -> tuple[list[RawDay], list[RawDay]]:
    kept, reversed_rows = [], []
    for day in days:
        low, high = day.reading.tmin_c, day.reading.tmax_c
        if low is not None and high is not None and low > high:
            reversed_rows.append(day)
            day = replace(day, reading=replace(day.reading, tmin_c=high, tmax_c=low))
        kept.append(day)
    return kept, reversed_rows


def _reversed_fault(day: RawDay, file: str) -> Fault:
    wrong = f"the minimum {day.reading.tmin_c:g} °C lies above the maximum {day.reading.tmax_c:g} °C"
    return Fault(f"{file}, row {day.row}, tmin", wrong, "exchange the two, or read the file with reversed days turned")


def _units_fault(days: Sequence[RawDay], file: str) -> Fault | None:
    """One fault for a file in other units, instead of one for every row."""
    highs = [(day.reading.tmax_c, day.row) for day in days if day.reading.tmax_c is not None]
    means = [
        (day.reading.tmin_c + day.reading.tmax_c) / 2
        for day in days
        if day.reading.tmin_c is not None and day.reading.tmax_c is not None
    ]
    if not highs:
        return None
    hottest, row = max(highs)
    too_hot = sum(value > HOTTEST_C for value, _ in highs)
    is_warm_file = len(means) >= DAYS_TO_JUDGE_UNITS and sum(means) / len(means) > NO_YEAR_SO_WARM_C
    if hottest > TENTHS_LOOK_LIKE_C:
        return Fault(f"{file}, row {row}, tmax", f"{hottest:g} looks like tenths of a degree", "write °C, as 11.7")
    if is_warm_file or (too_hot > 1 and too_hot >= len(highs) / 20):
        remedy = "write °C (subtract 32, divide by 1.8), or say that the file is in °F"
        return Fault(f"{file}, row {row}, tmax", f"up to {hottest:g}: the temperatures look like °F", remedy)
    return None


def _range_faults(day: RawDay, file: str) -> list[Fault]:
    faults = []
    where = f"{file}, row {day.row}"
    for name, value in (("tmin", day.reading.tmin_c), ("tmax", day.reading.tmax_c)):
        if value is not None and not COLDEST_C <= value <= HOTTEST_C:
            hint = "write °C; is it °F?" if value > 0 else "leave it empty if it was not measured"
            faults.append(Fault(f"{where}, {name}", f"{value:g} °C lies outside -60 … 60", hint))
    for name, measured, most in (
        ("rain", day.reading.rain_mm, WETTEST_DAY_MM),
        ("wind", day.reading.wind_ms, STRONGEST_MEAN_WIND_MS),
    ):
        if measured is not None and not 0 <= measured <= most:
            unit = "mm" if name == "rain" else "m/s"
            wrong = f"{measured:g} {unit} lies outside 0 … {most:g}"
            faults.append(Fault(f"{where}, {name}", wrong, "correct it, or leave it empty if it was not measured"))
    return faults
