"""From a folder of CSV files to rows of text."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from business.documents.tables import as_written
from business.errors import BadInput, Fault

# A book of 10,000 trees with ten years of records stays well below; a file beyond it is a mistake or an attack.
MOST_BYTES = 200_000_000
MOST_ROWS = 1_000_000


@dataclass(frozen=True, kw_only=True)
class TextRow:
    """One row as it stands in the file. ``number`` is the line a spreadsheet shows, the header being line 1."""

    file: str
    number: int
    cells: dict[str, str]

    def where(self, column: str) -> str:
        return f"{self.file}, row {self.number}, {column}"


def read_table(folder: Path, file: str, columns: Iterable[str], required: Iterable[str]) -> list[TextRow]:
    """The rows of one file.

    An absent file is an empty table. Unknown and missing columns, ragged rows, bytes that are not UTF-8 and files
    that are not CSV are all reported.

    Raises:
        BadInput: with every fault of this file.
    """
    path = folder / file
    if not path.exists():
        return []
    text = _decode(path, file)
    try:
        return _rows(text, file, tuple(columns), tuple(required))
    except csv.Error as error:
        raise BadInput(
            [Fault(file, f"is not CSV: {error}", "save it as comma separated values (CSV UTF-8)")]
        ) from error


def _decode(path: Path, file: str) -> str:
    if path.stat().st_size > MOST_BYTES:
        raise BadInput([Fault(file, f"is larger than {MOST_BYTES // 1_000_000} MB", "split the book into parts")])
    content = path.read_bytes()
    if content[:2] in (b"PK", b"\xd0\xcf"):
        raise BadInput([Fault(file, "is a spreadsheet, not CSV", "export it as comma separated values (CSV UTF-8)")])
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        raise BadInput(
            [Fault(f"{file}, row {row}", "is not UTF-8", "save the file as CSV UTF-8 (not Latin-1 or Windows)")]
        ) from error


def _rows(text: str, file: str, columns: tuple[str, ...], required: tuple[str, ...]) -> list[TextRow]:
    if "\x00" in text:
        raise BadInput([Fault(file, "holds binary data", "save it as comma separated values (CSV UTF-8)")])
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header = [name.strip().lower() for name in next(reader, [])]
    faults = _header_faults(header, file, columns, required)
    rows: list[TextRow] = []
    if not faults:
        for values in reader:
            if not any(value.strip() for value in values):
                continue
            if len(values) != len(header):
                faults.append(
                    Fault(
                        f"{file}, row {reader.line_num}",
                        f"has {len(values)} cells, the header has {len(header)}",
                        "put text with commas in double quotes",
                    )
                )
                continue
            cells = {name: as_written(value.strip()) for name, value in zip(header, values, strict=True)}
            rows.append(TextRow(file=file, number=reader.line_num, cells=cells))
            if len(rows) > MOST_ROWS:
                raise BadInput([Fault(file, f"has more than {MOST_ROWS} rows", "split the book into parts")])
    if faults:
        raise BadInput(faults)
    return rows


def _header_faults(header: list[str], file: str, columns: tuple[str, ...], required: tuple[str, ...]) -> list[Fault]:
    known = ", ".join(columns)
    if not any(header):
        return [Fault(file, "is empty", f"begin with the header {known}")]
    if len(header) == 1 and ";" in header[0]:
        return [Fault(file, "is separated by semicolons", "save it with commas between the cells")]
    faults = [
        Fault(f"{file}, row 1, {name}", "this column is missing", f"add it; known columns: {known}")
        for name in required
        if name not in header
    ]
    faults += [
        Fault(f"{file}, row 1, {name or '(empty)'}", "this column is not known", f"known columns: {known}")
        for name in header
        if name not in columns
    ]
    faults += [
        Fault(f"{file}, row 1, {name}", "this column stands twice", "keep one of them")
        for name in sorted({name for name in header if header.count(name) > 1})
    ]
    return faults
