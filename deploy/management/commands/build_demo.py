"""Build the invented business and run the main job once."""

from __future__ import annotations

import json
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from business import clock
from business.models import Client
from business.queries.profile import our_profile, profile_is_stored
from deploy.demo_business.book import write_book
from deploy.demo_business.house import PASSWORD, agree_with_clients, set_up_house
from deploy.demo_business.supports import say_how_supports_are_built
from deploy.demo_business.weather import STATIONS, normals, write_weather
from deploy.demo_business.working_day import work_one_visit
from gardens.climate import MonthlyNormals, Place, season_year
from gardens.climate.plausible import FileChoices
from gardens.climate.weather_files import read_weather
from gardens.models import Site, Tree
from gardens.services.book import import_book
from gardens.services.weather import save_station, store_days
from scheduling.models import Need, Round, Unplaced, Visit
from scheduling.rounds import Effort
from scheduling.services.reminders import write_reminders
from scheduling.services.rounds import lay_rounds
from scheduling.services.seasons import plan_season

SUMMARY = "summary.json"
WEATHER_DAYS = 900
ROUNDS_DAYS = 112


class Command(BaseCommand):
    help = "Build the invented business: book, weather, season, rounds, one visit worked, its papers."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--seconds", type=float, default=8.0, help="How long to look for better rounds.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        folder = Path(settings.VAR)
        kept = folder / SUMMARY
        if profile_is_stored():
            if not kept.exists():
                raise CommandError("this database holds a business already; the demo wants an empty one")
            self.stdout.write(kept.read_text(encoding="utf-8").strip())
            return
        self.seconds: dict[str, float] = {}
        summary = self._build(folder, options["seconds"])
        kept.write_text(json.dumps(summary), encoding="utf-8")
        if not options["json"]:
            self.stdout.write(f"Sign in as ruth, owen or tamsin with the password “{PASSWORD}”.")
        self.stdout.write(json.dumps(summary))

    def _build(self, folder: Path, seconds: float) -> dict[str, Any]:
        today = clock.today(our_profile().time_zone)
        with self._timed("book"):
            owner = set_up_house(as_of=today)
            self._bring_weather(folder / "weather", today)
            write_book(folder / "book", as_of=today)
            import_book(folder / "book")
            agree_with_clients(as_of=today)
            say_how_supports_are_built()
        self._say("The book is in.")
        with self._timed("plan"):
            plan_season(season_year(today, is_southern=False))
        self._say("The season is planned.")
        with self._timed("rounds"):
            lay_rounds(
                first_day=today, last_day=today + timedelta(days=ROUNDS_DAYS - 1), effort=Effort(seconds=seconds)
            )
        self._say("The rounds are laid.")
        with self._timed("documents"):
            papers = work_one_visit(folder, by=owner)
        write_reminders()
        return {
            "clients": Client.objects.count(),
            "sites": Site.objects.count(),
            "trees": Tree.objects.count(),
            "needs": Need.objects.exclude(state=Need.State.WITHDRAWN).count(),
            "visits": Visit.objects.count(),
            "rounds": Round.objects.count(),
            "unplaced": Unplaced.objects.count(),
            "work_order_pdf": self._relative(papers.work_order),
            "report_pdf": self._relative(papers.report),
            "invoice_pdf": self._relative(papers.invoice),
            "seconds": self.seconds,
        }

    def _bring_weather(self, folder: Path, today: date) -> None:
        paths = write_weather(
            folder, first_day=today - timedelta(days=WEATHER_DAYS), last_day=today - timedelta(days=1)
        )
        for station, path in zip(STATIONS, paths, strict=True):
            low, high = normals(station)
            row = save_station(
                code=station.code,
                name=station.name,
                place=Place(
                    latitude_deg=station.latitude_deg,
                    longitude_deg=station.longitude_deg,
                    elevation_m=station.elevation_m,
                ),
                normals=MonthlyNormals(tmin_c=low, tmax_c=high),
            )
            store_days(station=row, days=read_weather(path.read_bytes(), FileChoices(file=path.name)).days)

    @contextmanager
    def _timed(self, name: str) -> Iterator[None]:
        began = time.perf_counter()
        yield
        self.seconds[name] = round(time.perf_counter() - began, 1)

    def _say(self, words: str) -> None:
        self.stderr.write(words)

    def _relative(self, path: Path) -> str:
        root = Path(settings.ROOT)
        return str(path.relative_to(root)) if path.is_relative_to(root) else str(path)
