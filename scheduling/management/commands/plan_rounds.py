"""Lay visits into rounds."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand

from business.errors import Refusal
from scheduling.management.progress import Bar, refuse
from scheduling.rounds import Effort, Progress
from scheduling.services.rounds import lay_rounds


class Command(BaseCommand):
    help = "Lay the visits of a span of days into the crews' rounds."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--from", dest="first_day", type=date.fromisoformat, required=True, metavar="DATE")
        parser.add_argument("--until", dest="last_day", type=date.fromisoformat, required=True, metavar="DATE")
        parser.add_argument("--seconds", type=float, default=30.0, help="How long to look for better rounds.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        with Bar(self.stderr) as bar:

            def show(progress: Progress) -> None:
                bar.show("rounds", int(progress.seconds), int(progress.of_seconds))

            effort = Effort(seconds=options["seconds"], on_progress=show)
            try:
                outcome = lay_rounds(first_day=options["first_day"], last_day=options["last_day"], effort=effort)
            except Refusal as refusal:
                refuse(self, refusal, as_json=options["json"])
        numbers = outcome.plan.numbers
        if options["json"]:
            self.stdout.write(json.dumps({"rounds": outcome.rounds, "unplaced": outcome.unplaced, **numbers}))
            return
        self.stdout.write(f"{outcome.placed} visits in {outcome.rounds} rounds, {outcome.unplaced} not placed")
        self.stdout.write(f"  driving      {outcome.drive_minutes} min, {numbers['drive_km']} km")
        self.stdout.write(f"  crews busy   {numbers['utilisation']:.0%}, {numbers['drive_share']:.0%} of it driving")
        self.stdout.write(f"  in best part {numbers['best_share']:.0%}")
        for item in outcome.plan.unplaced.select_related("visit__site"):
            self.stdout.write(f"  not placed: {item.visit.site if item.visit else ''}: {item.why} {item.remedy}")
