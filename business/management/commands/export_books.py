"""The accountant's tables as files: journal, open items, tax summary."""

from __future__ import annotations

import json
from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.core.serializers.json import DjangoJSONEncoder

from business.documents.books import journal_table, open_items_table, tax_table
from business.documents.tables import MARK, csv_text


class Command(BaseCommand):
    help = "Write journal, open items and tax summary of some days as CSV files into FOLDER, or print them as JSON."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--from", dest="first", type=_day, required=True, metavar="DATE", help="like 2026-01-01")
        parser.add_argument(
            "--until", dest="last", type=_day, required=True, metavar="DATE", help="last day; open items are as of it"
        )
        parser.add_argument("--into", type=Path, metavar="FOLDER", help="where the files go; made if it is not there")
        parser.add_argument("--json", action="store_true", help="print the tables as one JSON line")

    def handle(self, *args: Any, **options: Any) -> None:
        first, last = options["first"], options["last"]
        if last < first:
            raise CommandError(f"--until {last} lies before --from {first}: give a later day")
        if not options["into"] and not options["json"]:
            raise CommandError("say --into FOLDER or --json")
        tables = {
            "journal": journal_table(first=first, last=last),
            "open_items": open_items_table(on=last),
            "tax": tax_table(first=first, last=last),
        }
        if options["json"]:
            told = {name: table.as_dicts() for name, table in tables.items()}
            self.stdout.write(json.dumps(told, cls=DjangoJSONEncoder, ensure_ascii=False))
        if options["into"]:
            options["into"].mkdir(parents=True, exist_ok=True)
            for table in tables.values():
                path = options["into"] / f"{table.name}.csv"
                path.write_text(MARK + csv_text(table.heads, table.rows), encoding="utf-8", newline="")
                if not options["json"]:
                    self.stdout.write(f"{path}  {len(table.rows)} rows")


def _day(words: str) -> date:
    try:
        return date.fromisoformat(words)
    except ValueError as error:
        raise ArgumentTypeError(f"{words} is no day; write it like 2026-03-31") from error
