"""Write the files of an empty client book."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from business.errors import BadInput
from gardens.services.book import write_templates


class Command(BaseCommand):
    help = "Write clients.csv, sites.csv, supports.csv, trees.csv, records.csv with their headers and an example row."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            paths = write_templates(options["folder"])
        except BadInput as error:
            for fault in error.faults:
                self.stderr.write(str(fault))
            raise SystemExit(2) from error
        if options["json"]:
            self.stdout.write(json.dumps({"files": [str(path) for path in paths]}))
            return
        for path in paths:
            self.stdout.write(str(path))
