"""GHCN-Daily, the layouts of the world's archive of daily station data (NOAA NCEI).

    fixed width   .dly, one line for each station, month and element, 31 groups of value and three flags
    station CSV   a header with STATION, DATE, then pairs of an element and its attributes ("M,Q,S")
    by year       no header: station, YYYYMMDD, element, value, M, Q, S flags, time of observation

TMAX and TMIN are tenths of a degree Celsius, PRCP tenths of a millimetre, AWND tenths of a metre per second. A value
with any quality flag has failed one of the archive's own checks and counts as not measured.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from business.errors import BadInput, Fault
from gardens.climate.plausible import FileChoices, RawDay, Units, checked, in_celsius
from gardens.climate.readings import Reading, Readings, Station

ELEMENTS = {"TMAX": "tmax_c", "TMIN": "tmin_c", "PRCP": "rain_mm", "AWND": "wind_ms"}
NOT_MEASURED = -9999
PRESUMED_ZERO = "P"
QUALITY_FLAGS = "DGIKLMNORSTWXZ"
LINE_LENGTH = 269
GROUP_START, GROUP_LENGTH = 21, 8

_FIXED = re.compile(r"^[A-Z0-9_-]{11}\d{6}[A-Z0-9]{4}")
_BY_YEAR = re.compile(r"^[A-Z0-9_-]{11},\d{8},[A-Z0-9]{4},-?\d+,")


@dataclass
class _Collector:
    """Values by day as they are read; a day remembers its first row."""

    choices: FileChoices
    rows: dict[date, int] = field(default_factory=dict)
    values: dict[date, dict[str, float | None]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    dropped: Counter[str] = field(default_factory=Counter)

    def put(self, row: int, on: date, element: str, value: float | None) -> None:
        name = ELEMENTS[element]
        day = self.values.setdefault(on, {})
        self.rows.setdefault(on, row)
        if name in day:
            wrong = f"{element} of {on} is given twice"
            self.faults.append(Fault(f"{self.choices.file}, row {row}", wrong, "keep one value for each day"))
        day[name] = value

    def passed(self, quality: str) -> bool:
        """Whether a value passed the archive's checks; a failed one is counted by its flag."""
        if quality.strip():
            self.dropped[quality.strip()] += 1
            return False
        return True

    def readings(self, station: Station) -> Readings:
        days = [
            RawDay(row=self.rows[on], reading=Reading(on=on, **values))
            for on, values in sorted(self.values.items())
            if any(value is not None for value in values.values())
        ]
        if not days and not self.faults:
            wrong = "there is neither TMAX nor TMIN in it"
            self.faults.append(Fault(self.choices.file, wrong, "ask the archive for TMAX and TMIN"))
        notes = []
        if self.dropped:
            flags = ", ".join(f"{count} × {flag}" for flag, count in sorted(self.dropped.items()))
            notes.append(f"Values that failed the archive's own checks, left out: {flags}.")
        return checked(days, self.choices, self.faults, station=station, notes=notes)


def is_fixed_width(text: str) -> bool:
    """Whether the text is in the fixed-width layout."""
    return bool(_FIXED.match(text))


def is_by_year(text: str) -> bool:
    """Whether the text is in the by-year layout."""
    return bool(_BY_YEAR.match(text))


def is_station_csv(text: str) -> bool:
    """Whether the text has the header of a station CSV."""
    names = _names(text.split("\n", 1)[0])
    return "STATION" in names and "DATE" in names


def read_fixed_width(text: str, choices: FileChoices) -> Readings:
    """The readings of a .dly file.

    Raises:
        BadInput: with every fault, each with its line.
    """
    collector = _Collector(choices)
    stations: dict[str, int] = {}
    for row, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        if not _FIXED.match(line):
            wrong = "the line does not begin with station, year, month and element"
            collector.faults.append(Fault(f"{choices.file}, row {row}", wrong, "keep the archive's fixed-width lines"))
            continue
        stations.setdefault(line[:11], row)
        if line[17:21] in ELEMENTS and _is_wanted(line[:11], choices):
            _read_month(line.ljust(LINE_LENGTH), row, collector)
    return collector.readings(_one_station({key: Station(key=key) for key in stations}, choices))


def _read_month(line: str, row: int, collector: _Collector) -> None:
    year, month, element = int(line[11:15]), int(line[15:17]), line[17:21]
    for day in range(31):
        start = GROUP_START + GROUP_LENGTH * day
        text, measure, quality = line[start : start + 5], line[start + 5], line[start + 6]
        if not text.strip() or text.strip() == str(NOT_MEASURED):
            continue
        try:
            on, value = date(year, month, day + 1), int(text)
        except ValueError:
            wrong = f"{text!r} for day {day + 1} of {year}-{month:02} cannot be read"
            collector.faults.append(
                Fault(f"{collector.choices.file}, row {row}", wrong, "keep whole tenths, -9999 if none")
            )
            continue
        is_good = collector.passed(quality) and measure != PRESUMED_ZERO
        collector.put(row, on, element, value / 10 if is_good else None)


def read_station_csv(text: str, choices: FileChoices) -> Readings:
    """The readings of a station CSV. Whole numbers with attributes are tenths; else ``choices.units`` must say.

    Raises:
        BadInput: with every fault, each with its row.
    """
    rows = csv.DictReader(text.splitlines())
    rows.fieldnames = _names(text.split("\n", 1)[0])
    table = [(rows.line_num, row) for row in rows if row.get("DATE") != "DATE"]
    collector = _Collector(choices)
    units = _station_units(table, choices)
    stations: dict[str, Station] = {}
    for number, row in table:
        key = (row.get("STATION") or "").strip()
        stations.setdefault(key, _station(key, row))
        if _is_wanted(key, choices):
            _read_station_row(number, row, units, collector)
    return collector.readings(_one_station(stations, choices))


def _read_station_row(number: int, row: dict[str, str | None], units: Units, collector: _Collector) -> None:
    where = f"{collector.choices.file}, row {number}"
    text = (row.get("DATE") or "").strip()
    try:
        on = date.fromisoformat(text)
    except ValueError:
        collector.faults.append(Fault(f"{where}, DATE", f"{text!r} is not a date", "write it as 2024-02-28"))
        return
    for element in ELEMENTS:
        value_text = (row.get(element) or "").strip()
        if not value_text:
            continue
        measure, quality = _flags(row.get(f"{element}_ATTRIBUTES"))
        try:
            value = float(value_text)
        except ValueError:
            wrong = f"{value_text!r} is not a number"
            collector.faults.append(Fault(f"{where}, {element}", wrong, "leave it empty if it was not measured"))
            continue
        is_good = collector.passed(quality) and measure != PRESUMED_ZERO
        collector.put(number, on, element, _converted(value, element, units) if is_good else None)


def read_by_year(text: str, choices: FileChoices) -> Readings:
    """The readings of one station in a by-year file; ``choices.station`` picks it where there are several.

    Raises:
        BadInput: with every fault, each with its row.
    """
    collector = _Collector(choices)
    stations: dict[str, Station] = {}
    for row, cells in enumerate(csv.reader(text.splitlines()), start=1):
        if not cells:
            continue
        where = f"{choices.file}, row {row}"
        if len(cells) < 6:
            wrong = f"{len(cells)} cells instead of eight"
            collector.faults.append(Fault(where, wrong, "keep station, day, element, value and flags"))
            continue
        key, day, element, value, measure, quality = cells[:6]
        stations.setdefault(key, Station(key=key))
        if element not in ELEMENTS or not _is_wanted(key, choices):
            continue
        try:
            on, tenths = date(int(day[:4]), int(day[4:6]), int(day[6:8])), int(value)
        except ValueError:
            collector.faults.append(Fault(where, f"{day!r}, {value!r} cannot be read", "write 20240228 and tenths"))
            continue
        if tenths != NOT_MEASURED:
            is_good = collector.passed(quality) and measure != PRESUMED_ZERO
            collector.put(row, on, element, tenths / 10 if is_good else None)
    return collector.readings(_one_station(stations, choices))


def _station_units(table: list[tuple[int, dict[str, str | None]]], choices: FileChoices) -> Units:
    """Tenths where attributes stand beside whole numbers; anything else must be said, never guessed."""
    if choices.units is not None:
        return choices.units
    values = [text for _, row in table for name in ("TMAX", "TMIN") if (text := (row.get(name) or "").strip())]
    has_attributes = bool(table) and any(name.endswith("_ATTRIBUTES") for name in table[0][1] if name)
    if has_attributes and not any("." in text for text in values):
        return "tenths_celsius"
    wrong = "the file does not say whether its temperatures are °C, °F or tenths of °C"
    raise BadInput([Fault(choices.file, wrong, "say the units: celsius, fahrenheit or tenths_celsius")])


def _converted(value: float, element: str, units: Units) -> float:
    if element in ("TMAX", "TMIN"):
        return in_celsius(value, units)
    if units == "tenths_celsius":
        return value / 10
    if units == "fahrenheit":
        return round(value * (25.4 if element == "PRCP" else 0.44704), 2)
    return value


def _flags(attributes: str | None) -> tuple[str, str]:
    parts = [*(attributes or "").split(","), "", ""]
    return parts[0].strip(), parts[1].strip()


def _names(header: str) -> list[str]:
    return [name.strip().upper() for name in next(csv.reader([header.strip("\r\n")]), [])]


def _station(key: str, row: dict[str, str | None]) -> Station:
    def number(name: str) -> float | None:
        try:
            return float((row.get(name) or "").strip())
        except ValueError:
            return None

    return Station(
        key=key,
        name=(row.get("NAME") or "").strip(),
        latitude_deg=number("LATITUDE"),
        longitude_deg=number("LONGITUDE"),
        elevation_m=number("ELEVATION"),
    )


def _is_wanted(key: str, choices: FileChoices) -> bool:
    return choices.station is None or key == choices.station


def _one_station(stations: dict[str, Station], choices: FileChoices) -> Station:
    if choices.station is not None and choices.station in stations:
        return stations[choices.station]
    if choices.station is None and len(stations) == 1:
        return next(iter(stations.values()))
    named = ", ".join(sorted(stations)[:20]) or "none"
    wrong = f"it holds {len(stations)} stations" if choices.station is None else f"{choices.station} is not in it"
    raise BadInput([Fault(choices.file, wrong, f"pick one of: {named}")])
