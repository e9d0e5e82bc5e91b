"""A sheet of values from outside, read key by key: every fault is collected, none stops the reading."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite, sqrt
from typing import Any

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials
from gardens.supports.wires import MM_PER_INCH, read_wire_size
from gardens.units import MM_PER, parse_length_mm, show_length

UNIT_ENDINGS = {"_mm": "mm", "_cm": "cm", "_m": "m", "_in": "in", "_ft": "ft"}
"""A key may carry its unit: "run_m": 3.6. Plain numbers without one are millimetres."""


@dataclass(frozen=True)
class Notes:
    """What was found while a document was read: faults, and what had to be assumed."""

    faults: list[Fault] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)


class Sheet:
    """One table of a document. Read what it should hold, then `close` it: keys nobody asked for are faults."""

    def __init__(self, values: Mapping[str, Any], *, where: str, book: Materials, notes: Notes | None = None) -> None:
        self.values = values
        self.where = where
        self.book = book
        self.notes = notes or Notes()
        self._asked: set[str] = set()
        self._open: list[Sheet] = []

    @property
    def faults(self) -> list[Fault]:
        """Of the whole document so far."""
        return self.notes.faults

    def assume(self, what: str) -> None:
        """Note that something was not given and a usual value stands in for it."""
        self.notes.assumed.append(what)

    def fault(self, key: str, wrong: str, remedy: str) -> None:
        """Note that a value is wrong."""
        self.faults.append(Fault(f"{self.where}, {key}", wrong, remedy))

    def has(self, key: str) -> bool:
        """Whether the key is given, with or without a unit."""
        return self._find(key) is not None

    def length(self, key: str, least: int, most: int, default: int | None = None) -> int | None:
        """A length in whole mm: "45 cm", "18 in", a number of millimetres, or key_cm: 45. None if wrong or not given.

        Without a default the key must be there.
        """
        found = self._find(key)
        if found is None:
            if default is None:
                self.fault(key, "is missing", f'add it, as "{key}": "{show_length(_usual(least, most))}"')
            return default
        return self._one_length(key, *found, (least, most))

    def lengths(self, key: str, least: int, most: int) -> tuple[int, ...] | None:
        """A list of lengths. None if the list or one of its entries is wrong; an empty tuple if not given."""
        found = self._find(key)
        if found is None:
            return ()
        value, unit = found
        if isinstance(value, str) or not isinstance(value, Sequence):
            self.fault(key, f"{value!r} is not a list", f'write it as "{key}": ["40 cm", "80 cm"]')
            return None
        read = [
            self._one_length(f"{key} {number}", entry, unit, (least, most))
            for number, entry in enumerate(value, start=1)
        ]
        return None if any(entry is None for entry in read) else tuple(entry for entry in read if entry is not None)

    def size(self, key: str, default: float) -> float | None:
        """A thickness in mm that need not be whole: "3.15 mm", "14 SWG", 3.15. None if wrong."""
        found = self._find(key)
        if found is None:
            return default
        value, unit = found
        try:
            if isinstance(value, str):
                return read_wire_size(value)[0]
            if isinstance(value, (int, float)) and not isinstance(value, bool) and value > 0:
                return float(value) * {"in": MM_PER_INCH, "cm": 10.0}.get(unit, 1.0)
        except BadInput as refusal:
            self.faults.extend(Fault(f"{self.where}, {key}", fault.wrong, fault.remedy) for fault in refusal.faults)
            return None
        self.fault(key, f"{value!r} is no thickness", 'write it as "8 mm"')
        return None

    def number(self, key: str, least: float, most: float, default: float | None = None) -> float | None:
        """A number in a range. None if wrong, or not given and without default."""
        value = self._plain(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.fault(key, f"{value!r} is not a number", f"give {least:g} to {most:g}")
            return None
        if not least <= value <= most:
            self.fault(key, f"{value:g} is out of range", f"give {least:g} to {most:g}")
            return None
        return float(value)

    def choice(self, key: str, known: Mapping[str, Any] | Sequence[str], default: str | None) -> str | None:
        """One of the known words. None if wrong; without a default the key must be there."""
        value = self._plain(key)
        if value is None:
            if default is None:
                self.fault(key, "is missing", f"use one of {', '.join(known)}")
            return default
        if isinstance(value, str) and (word := _known_word(value, known)):
            return word
        close = difflib.get_close_matches(str(value), list(known), n=1)
        first = f"{close[0]}? Known are " if close else "use one of "
        self.fault(key, f"{value!r} is not known", f"{first}{', '.join(known)}")
        return None

    def flag(self, key: str, default: bool) -> bool:
        """true or false."""
        value = self._plain(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fault(key, f"{value!r} is not true or false", "write true or false")
            return default
        return value

    def text(self, key: str, default: str = "") -> str:
        """Any text."""
        value = self._plain(key)
        if value is None:
            return default
        if not isinstance(value, str):
            self.fault(key, f"{value!r} is not a text", "write it in quotes")
            return default
        return value

    def part(self, key: str) -> Sheet | None:
        """A table within this one, or None where it is not given or no table."""
        value = self._plain(key)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self.fault(key, f"{value!r} is not a table", f'write it as "{key}": {{…}}')
            return None
        return self._inner(value, key)

    def parts(self, key: str) -> list[Sheet]:
        """A list of tables."""
        value = self._plain(key)
        if value is None:
            return []
        if isinstance(value, str) or not isinstance(value, Sequence):
            self.fault(key, f"{value!r} is not a list", f'write it as "{key}": [{{…}}]')
            return []
        sheets = []
        for number, entry in enumerate(value, start=1):
            if isinstance(entry, Mapping):
                sheets.append(self._inner(entry, f"{key} {number}"))
            else:
                self.fault(f"{key} {number}", f"{entry!r} is not a table", "write it as {…}")
        return sheets

    def close(self) -> None:
        """Every key that nobody asked for is a fault, in this table and those within it."""
        for inner in self._open:
            inner.close()
        for key in self.values:
            if key in self._asked or key in {asked + ending for asked in self._asked for ending in UNIT_ENDINGS}:
                continue
            close = difflib.get_close_matches(key, sorted(self._asked), n=1)
            remedy = f"did you mean {close[0]}?" if close else f"known are {', '.join(sorted(self._asked))}"
            self.fault(str(key), "is not a key that is known here", remedy)

    def _inner(self, values: Mapping[str, Any], key: str) -> Sheet:
        sheet = Sheet(values, where=f"{self.where}, {key}", book=self.book, notes=self.notes)
        self._open.append(sheet)
        return sheet

    def _plain(self, key: str) -> Any:
        self._asked.add(key)
        return self.values.get(key)

    def _find(self, key: str) -> tuple[Any, str] | None:
        """The value of a key and the unit it is in where it is a plain number."""
        self._asked.add(key)
        if self.values.get(key) is not None:
            return self.values[key], "mm"
        for ending, unit in UNIT_ENDINGS.items():
            if self.values.get(key + ending) is not None:
                return self.values[key + ending], unit
        return None

    def _one_length(self, key: str, value: Any, unit: str, span: tuple[int, int]) -> int | None:
        least, most = span
        if isinstance(value, bool) or not isinstance(value, (int, float, str)):
            self.fault(key, f"{value!r} is not a length", "write it as 45 cm, 1.2 m, 18 in or 5 ft 3")
            return None
        try:
            length = _signed_length_mm(value, unit)
        except (ValueError, ArithmeticError) as error:
            wrong, _, remedy = str(error).partition("; ") if isinstance(error, ValueError) else (f"{value!r}", "", "")
            self.fault(key, wrong or f"{value!r}", remedy or "write it as 45 cm, 1.2 m, 18 in or 5 ft 3")
            return None
        if not least <= length <= most:
            self.fault(key, f"{length} mm ({value!r}) is out of range", _span_words(value, unit, span))
            return None
        return length


def _signed_length_mm(value: float | str, unit: str) -> int:
    """A person's text by the rules of `gardens.units`, a number as it stands."""
    if not isinstance(value, str):
        if not isfinite(value):
            raise ValueError(f"{value} is not a length")
        return round(value * float(MM_PER[unit]))
    length = parse_length_mm(value.strip().removeprefix("-"), default_unit=unit)
    return -length if value.strip().startswith("-") else length


def _span_words(value: float | str, unit: str, span: tuple[int, int]) -> str:
    words = f"give {show_length(span[0])} to {show_length(span[1])}"
    if not isinstance(value, str) and unit == "mm":
        return f"{words}; plain numbers are millimetres, write a unit otherwise"
    return words


def _usual(least: int, most: int) -> float:
    return sqrt(max(least, 1) * most)


def _known_word(value: str, known: Mapping[str, Any] | Sequence[str]) -> str | None:
    plain = value.strip().lower()
    slug = plain.replace(" ", "_").replace("-", "_")
    if slug in known:
        return slug
    if isinstance(known, Mapping):
        for word, row in known.items():
            names = (getattr(row, "name", ""), *getattr(row, "aliases", ()))
            if plain in {name.lower() for name in names}:
                return word
    return None
