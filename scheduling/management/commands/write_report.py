"""Write the report of a finished visit."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from business.errors import Refusal
from business.services.archive import content_of
from scheduling.management.progress import refuse
from scheduling.models import Visit
from scheduling.services.reports import write_report


class Command(BaseCommand):
    help = "Write the report of a finished visit into the archive, and to a file if one is named."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("visit", type=int, help="The number of the visit.")
        parser.add_argument("--out", type=Path, help="Also write the PDF here.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            report = write_report(visit_id=options["visit"])
        except Visit.DoesNotExist as error:
            raise CommandError(f"there is no visit {options['visit']}", returncode=2) from error
        except Refusal as refusal:
            refuse(self, refusal, as_json=options["json"])
        document = report.document
        if options["out"]:
            options["out"].write_bytes(content_of(document))
        if options["json"]:
            answer = {
                "visit": options["visit"],
                "file": document.file_name,
                "sha256": document.sha256,
                "size": document.size,
            }
            self.stdout.write(json.dumps(answer))
            return
        self.stdout.write(f"{document.file_name}, {document.size // 1024} kB, kept in the archive")
