"""Tables as text for other programs: CSV by RFC 4180. Days are ISO 8601, numbers have a point."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

MARK = "\ufeff"
"""Spreadsheets look for it to know UTF-8."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """A named table. Cells are texts, numbers and days; a text is never run as a formula (``harmless``)."""

    name: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Any]]

    def as_dicts(self) -> list[dict[str, Any]]:
        return [dict(zip(self.heads, row, strict=True)) for row in self.rows]


def csv_text(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    target = io.StringIO()
    writer = csv.writer(target)
    writer.writerow(heads)
    for row in rows:
        writer.writerow([harmless(cell) for cell in row])
    return target.getvalue()


RUN_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")
"""What spreadsheets take for the start of a formula (CWE-1236), the wide forms of East Asian type among them."""


def harmless(cell: object) -> str:
    """A text that a spreadsheet would run as a formula gets an apostrophe in front; numbers stay numbers."""
    words = "" if cell is None else str(cell)
    return f"'{words}" if isinstance(cell, str) and words.startswith(RUN_AS_FORMULA) else words


def as_written(cell: str) -> str:
    """A cell as it was before ``harmless``: the one apostrophe in front of a formula comes off again."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(RUN_AS_FORMULA) else cell
