"""Bring a book in: read everything, report every fault at once, then write all of it or nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import TypeVar

from django.db import transaction

from business import clock
from business.errors import BadInput, Fault
from gardens.knowledge import load_knowledge
from gardens.queries.book import client_codes
from gardens.services.book import rows
from gardens.services.book.checks import Book, Named, faults_across, with_runs
from gardens.services.book.store import Tally, store_book
from gardens.services.book.tables import TextRow, read_table
from gardens.services.book.templates import COLUMNS, REQUIRED

Made = TypeVar("Made")

FILES = ("clients.csv", "sites.csv", "supports.csv", "trees.csv", "records.csv")


@dataclass(frozen=True, kw_only=True)
class BookOutcome:
    """What an import did (or, after a dry run, would do), by file: added, changed, same."""

    is_dry_run: bool
    tallies: dict[str, Tally] = field(default_factory=dict)

    def as_dict(self) -> dict[str, object]:
        return {
            "dry_run": self.is_dry_run,
            "files": {
                name: {"added": tally.added, "changed": tally.changed, "same": tally.same}
                for name, tally in self.tallies.items()
            },
        }


class _DryRun(Exception):
    """Carries the outcome out of the transaction that is rolled back."""


def import_book(folder: Path, *, is_dry_run: bool = False) -> BookOutcome:
    """Read the five files of ``folder`` and write them in one transaction.

    Raises:
        BadInput: with every fault of every file; nothing was written.
    """
    book = _read(folder)
    tallies: dict[str, Tally] = {}
    try:
        with transaction.atomic():
            tallies = store_book(book)
            if is_dry_run:
                raise _DryRun
    except _DryRun:
        pass
    return BookOutcome(is_dry_run=is_dry_run, tallies=tallies)


def _read(folder: Path) -> Book:
    if not folder.is_dir():
        raise BadInput([Fault(str(folder), "is not a folder", "name the folder that holds clients.csv and the others")])
    if not any((folder / file).exists() for file in FILES):
        raise BadInput([Fault(str(folder), "holds none of the five files", f"put {', '.join(FILES)} there")])
    # Broken rule files are our fault, not the book's: say so before any row is blamed.
    load_knowledge()
    faults: list[Fault] = []
    named = Named()
    book = Book(
        clients=_table(folder, "clients.csv", rows.client_row, faults, named),
        sites=_table(folder, "sites.csv", rows.site_row, faults, named),
        supports=_table(folder, "supports.csv", rows.support_row, faults, named),
        trees=_table(folder, "trees.csv", rows.tree_row, faults, named),
        records=_table(folder, "records.csv", rows.record_row, faults, named),
    )
    faults += _days_to_come(book)
    book = with_runs(book)
    faults += faults_across(book, client_codes(), named)
    if faults:
        raise BadInput(faults)
    return book


def _table(
    folder: Path,
    file: str,
    read_row: Callable[[TextRow], tuple[Made | None, list[Fault]]],
    faults: list[Fault],
    named: Named,
) -> list[Made]:
    try:
        text_rows = read_table(folder, file, COLUMNS[file], REQUIRED[file])
    except BadInput as error:
        faults += error.faults
        named.unreadable.add(file)
        return []
    made = []
    for text_row in text_rows:
        row, row_faults = read_row(text_row)
        faults += row_faults
        if row is not None:
            made.append(row)
        else:
            named.take(text_row)
    return made


def _days_to_come(book: Book) -> list[Fault]:
    # One day of grace: somewhere on earth it is tomorrow already.
    latest = clock.now().date() + timedelta(days=1)
    return [
        Fault(record.row.where("date"), f"{record.on} lies in the future", "records say what was, not what will be")
        for record in book.records
        if record.on > latest
    ]
