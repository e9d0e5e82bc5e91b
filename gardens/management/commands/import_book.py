"""Bring a client book in."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from business.errors import BadInput
from gardens.services.book import import_book


class Command(BaseCommand):
    help = "Import clients.csv, sites.csv, supports.csv, trees.csv, records.csv from a folder: all of it or nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="The folder with the five files.")
        parser.add_argument("--dry-run", action="store_true", help="Check and count, write nothing.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            outcome = import_book(options["folder"], is_dry_run=options["dry_run"])
        except BadInput as error:
            if options["json"]:
                faults = [{"where": f.where, "wrong": f.wrong, "remedy": f.remedy} for f in error.faults]
                self.stdout.write(json.dumps({"faults": faults}))
            else:
                for fault in error.faults:
                    self.stderr.write(str(fault))
                self.stderr.write(f"{len(error.faults)} to put right; nothing was written.")
            raise SystemExit(2) from error
        if options["json"]:
            self.stdout.write(json.dumps(outcome.as_dict()))
            return
        self.stdout.write("Dry run: nothing was written." if outcome.is_dry_run else "The book is in.")
        for file, tally in outcome.tallies.items():
            self.stdout.write(f"  {file:14} {tally.added:6} added {tally.changed:6} changed {tally.same:6} the same")
