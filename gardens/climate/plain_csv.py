"""The plain weather file: a header with date, tmin, tmax and, if known, rain and wind, in any order."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, field
from datetime import date

from business.errors import BadInput, Fault
from gardens.climate.plausible import FileChoices, RawDay, checked, in_celsius
from gardens.climate.readings import Reading, Readings

COLUMNS = {
    "date": "date",
    "day": "date",
    "tmin": "tmin",
    "tmin_c": "tmin",
    "tmax": "tmax",
    "tmax_c": "tmax",
    "rain": "rain",
    "rain_mm": "rain",
    "prcp": "rain",
    "prcp_mm": "rain",
    "wind": "wind",
    "wind_ms": "wind",
}
NEEDED = ("date", "tmin", "tmax")
NOT_MEASURED = {"", "-", "na", "nan", "null", "none", "-9999", "-9999.0", "-99.9"}


@dataclass
class _Reader:
    """Reads row by row and keeps every fault."""

    choices: FileChoices
    has_decimal_comma: bool
    columns: dict[str, int]
    width: int
    faults: list[Fault] = field(default_factory=list)

    def day(self, row: int, cells: list[str]) -> RawDay | None:
        """The row as a day, or None with a fault."""
        if len(cells) != self.width:
            wrong = f"{len(cells)} cells where the header has {self.width}"
            self._fault(row, "", wrong, "write one cell for each column")
            return None
        on = self._date(row, cells[self.columns["date"]].strip())
        values = {
            name: self._number(row, name, cells[at].strip()) for name, at in self.columns.items() if name != "date"
        }
        if on is None:
            return None
        units = self.choices.units or "celsius"
        tmin, tmax = (None if values[n] is None else in_celsius(values[n] or 0.0, units) for n in ("tmin", "tmax"))
        reading = Reading(on=on, tmin_c=tmin, tmax_c=tmax, rain_mm=values.get("rain"), wind_ms=values.get("wind"))
        return RawDay(row=row, reading=reading)

    def _date(self, row: int, text: str) -> date | None:
        try:
            if len(text) == 10:
                return date.fromisoformat(text)
        except ValueError:
            pass
        self._fault(row, "date", f"{text!r} is not a date", "write year, month and day as 2024-02-28")
        return None

    def _number(self, row: int, name: str, text: str) -> float | None:
        if text.casefold() in NOT_MEASURED:
            return None
        plain = text.replace(",", ".") if self.has_decimal_comma else text
        try:
            value = float(plain)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self._fault(row, name, f"{text!r} is not a number", "write it as 11.7, or leave it empty if not measured")
            return None
        return value

    def _fault(self, row: int, column: str, wrong: str, remedy: str) -> None:
        where = f"{self.choices.file}, row {row}" + (f", {column}" if column else "")
        self.faults.append(Fault(where, wrong, remedy))


def read_plain_csv(text: str, choices: FileChoices) -> Readings:
    """The readings of a plain file.

    Raises:
        BadInput: with every fault, each with its row and column.
    """
    header = text.split("\n", 1)[0]
    separator = ";" if header.count(";") > header.count(",") else ","
    rows = csv.reader(text.splitlines(), delimiter=separator)
    names = [name.strip().casefold() for name in next(rows, [])]
    columns = _columns(names, choices.file)
    reader = _Reader(choices=choices, has_decimal_comma=separator == ";", columns=columns, width=len(names))
    days = []
    for cells in rows:
        if any(cell.strip() for cell in cells):
            day = reader.day(rows.line_num, cells)
            if day is not None:
                days.append(day)
    if not days and not reader.faults:
        reader.faults.append(Fault(choices.file, "there is no day in it", "give one row for each day"))
    unread = [name for name in names if name not in COLUMNS]
    notes = [f"Columns not read: {', '.join(unread)}."] if unread else []
    return checked(days, choices, reader.faults, notes=notes)


def _columns(names: list[str], file: str) -> dict[str, int]:
    known = [COLUMNS.get(name) for name in names]
    faults = [
        Fault(f"{file}, row 1", f"there is no column {name}", "give the header date,tmin,tmax[,rain][,wind]")
        for name in NEEDED
        if name not in known
    ]
    faults += [
        Fault(f"{file}, row 1", f"there is more than one column for {name}", "keep one of them")
        for name in sorted({name for name in known if name and known.count(name) > 1})
    ]
    if faults:
        raise BadInput(faults)
    return {name: at for at, name in enumerate(known) if name}
