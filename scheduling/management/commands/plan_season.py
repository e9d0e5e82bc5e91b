"""Work out a season."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from business.errors import Refusal
from scheduling.management.progress import Bar, refuse
from scheduling.services.seasons import plan_season


class Command(BaseCommand):
    help = "Find what every tree is due in a season, and pack it into visits. Safe to repeat."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("year", type=int, help="The season: the calendar year of its bloom in the north.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        with Bar(self.stderr) as bar:
            try:
                outcome = plan_season(options["year"], on_progress=bar.show)
            except Refusal as refusal:
                refuse(self, refusal, as_json=options["json"])
        if options["json"]:
            self.stdout.write(json.dumps(asdict(outcome)))
            return
        self.stdout.write(f"Season {outcome.year}: {outcome.trees} trees looked at")
        self.stdout.write(f"  needs      {outcome.needs:6}  ({outcome.added} added, {outcome.changed} changed, ")
        self.stdout.write(f"                     {outcome.withdrawn} no longer needed)")
        self.stdout.write(f"  no day     {outcome.blocked:6}  due, but closed the whole season")
        self.stdout.write(f"  visits     {outcome.visits:6}")
        self.stdout.write(f"  unserved   {outcome.unserved:6}  needs that no visit serves, each with its reason")
        if outcome.moved:
            self.stdout.write(f"  since the last time: {outcome.moved}")
