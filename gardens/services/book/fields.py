"""From the text of one cell to a value, or a fault that says what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from datetime import date, time
from typing import TypeVar
from zoneinfo import available_timezones

from business.errors import BadInput, Fault
from gardens.services.book.tables import TextRow
from gardens.supports.wires import THICKEST_MM, THINNEST_MM, read_wire_size
from gardens.units import parse_length_mm

Value = TypeVar("Value")

DAYS = ("mo", "tu", "we", "th", "fr", "sa", "su")
POINTS = {
    name: round(step * 22.5)
    for step, name in enumerate(
        ("n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")
    )
}
_CODE = re.compile(r"^[A-Za-z0-9][A-Za-z0-9_-]{0,39}$")


class Cells:
    """Reads the cells of one row and gathers what is wrong with them."""

    def __init__(self, row: TextRow) -> None:
        self.row = row
        self.faults: list[Fault] = []

    def text(self, column: str) -> str:
        return self.row.cells.get(column, "")

    def fault(self, column: str, wrong: str, remedy: str) -> None:
        self.faults.append(Fault(self.row.where(column), wrong, remedy))

    def read(self, column: str, reader: Callable[[str], Value], default: Value) -> Value:
        """The value of an optional cell: ``default`` when it is empty or wrong."""
        raw = self.text(column)
        if not raw:
            return default
        try:
            return reader(raw)
        except ValueError as error:
            wrong, _, remedy = str(error).partition("; ")
            self.fault(column, wrong, remedy or "see the template")
            return default

    def need(self, column: str, reader: Callable[[str], Value], example: str) -> Value | None:
        """The value of a cell that must be filled; None when it is empty or wrong."""
        if not self.text(column):
            self.fault(column, "is empty", f"write for example {example}")
            return None
        return self.read(column, reader, None)


def code(raw: str) -> str:
    if not _CODE.match(raw):
        raise ValueError(f"{raw!r} is not a code; use letters, digits, - and _, at most 40")
    return raw.lower()


def plain(raw: str) -> str:
    return raw


def day(raw: str) -> date:
    try:
        return date.fromisoformat(raw)
    except ValueError:
        raise ValueError(f"{raw!r} is not a date; write it as 2024-02-28") from None


def clock_time(raw: str) -> time:
    try:
        return time.fromisoformat(raw)
    except ValueError:
        raise ValueError(f"{raw!r} is not a time; write it as 08:30") from None


def number(raw: str) -> float:
    try:
        return float(raw)
    except ValueError:
        raise ValueError(f"{raw!r} is not a number; write it as 51.5") from None


def between(low: float, high: float) -> Callable[[str], float]:
    def read(raw: str) -> float:
        value = number(raw)
        if not low <= value <= high:
            raise ValueError(f"{raw} lies outside {low:g} … {high:g}; check the sign and the unit")
        return value

    return read


def whole(raw: str) -> int:
    if not re.fullmatch(r"\d{1,9}", raw):
        raise ValueError(f"{raw!r} is not a whole number; write it as 3")
    return int(raw)


def length(raw: str) -> int:
    """A length in mm; without a unit it is in cm."""
    return parse_length_mm(raw, default_unit="cm")


def lengths(raw: str) -> tuple[int, ...]:
    return tuple(length(part.strip()) for part in raw.split(";") if part.strip())


def one_of(known: Collection[str]) -> Callable[[str], str]:
    def read(raw: str) -> str:
        value = raw.lower().replace(" ", "_").replace("-", "_")
        if value not in known:
            raise ValueError(f"{raw!r} is not known; use one of {', '.join(sorted(known))}")
        return value

    return read


def zone(raw: str) -> str:
    if raw not in available_timezones():
        raise ValueError(f"{raw!r} is not a time zone; write it as Europe/London")
    return raw


def wire_size(raw: str) -> float:
    """A straining wire's diameter in mm: a plain number is mm, a gauge names its system ("14 SWG")."""
    if re.fullmatch(r"\d+([.,]\d+)?", raw):
        size = number(raw.replace(",", "."))
    else:
        try:
            size = read_wire_size(raw)[0]
        except BadInput as refusal:
            fault = refusal.faults[0]
            raise ValueError(f"{fault.wrong}; {fault.remedy}") from None
    if not THINNEST_MM <= size <= THICKEST_MM:
        raise ValueError(f"{raw} is no straining wire; give {THINNEST_MM:g} to {THICKEST_MM:g} mm")
    return round(size, 2)


def bearing(raw: str) -> int:
    """Where a support faces: a point of the compass, or degrees from north."""
    if raw.lower() in POINTS:
        return POINTS[raw.lower()]
    if re.fullmatch(r"\d{1,3}", raw) and int(raw) < 360:
        return int(raw)
    raise ValueError(f"{raw!r} is not a bearing; write S, SW or degrees from 0 to 359")


def week(raw: str) -> str:
    """Days of access as seven digits, Monday first: "mo-fr", "mo tu th"."""
    open_days: set[int] = set()
    for part in raw.lower().replace(",", " ").split():
        first, _, last = part.partition("-")
        if first[:2] not in DAYS or (last and last[:2] not in DAYS):
            raise ValueError(f"{part!r} is not a day; write mo-fr or mo tu th")
        start = DAYS.index(first[:2])
        end = DAYS.index(last[:2]) if last else start
        open_days.update(range(start, end + 1) if start <= end else [*range(start, 7), *range(end + 1)])
    return "".join("1" if index in open_days else "0" for index in range(7))
