"""Queue the reminders that are due."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from scheduling.services.reminders import write_reminders


class Command(BaseCommand):
    help = "Queue every reminder that is due, to clients, crews and office. Running twice sends once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        written = write_reminders()
        self.stdout.write(json.dumps({"written": written}) if options["json"] else f"{written} reminders queued")
