"""Bring daily weather of a station in."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from business import clock
from business.errors import BadInput, Fault
from business.queries.profile import our_profile
from gardens.climate import Place
from gardens.climate.plausible import FileChoices
from gardens.climate.readings import Readings, gap_report
from gardens.climate.weather_files import read_weather
from gardens.models import WeatherStation
from gardens.services.weather import save_station, store_days


class Command(BaseCommand):
    help = "Import daily weather (plain CSV date,tmin,tmax[,rain], GHCN-Daily CSV or .dly) for one station."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", help="The station's code, as sites name it.")
        parser.add_argument("file", type=Path)
        parser.add_argument("--name", default="", help="For a new station.")
        parser.add_argument("--latitude", type=float)
        parser.add_argument("--longitude", type=float)
        parser.add_argument("--elevation", type=float, default=0.0, help="Metres above the sea.")
        parser.add_argument("--json", action="store_true", help="Answer as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            readings = self._read(options["file"])
            station = self._station(options, readings)
        except BadInput as error:
            for fault in error.faults:
                self.stderr.write(str(fault))
            self.stderr.write("Nothing was written.")
            raise SystemExit(2) from error
        stored = store_days(station=station, days=readings.days, forecast_from=clock.today(our_profile().time_zone))
        if options["json"]:
            self.stdout.write(
                json.dumps(
                    {
                        "station": station.code,
                        "added": stored.added,
                        "changed": stored.changed,
                        "same": stored.same,
                        "missing": readings.missing(),
                        "first": readings.first.isoformat() if readings.first else None,
                        "last": readings.last.isoformat() if readings.last else None,
                    }
                )
            )
            return
        self.stdout.write(f"{station.name}: {stored.added} added, {stored.changed} changed, {stored.same} the same")
        self.stdout.write(gap_report(readings))

    def _read(self, path: Path) -> Readings:
        if not path.is_file():
            raise CommandError(f"there is no file {path}", returncode=2)
        return read_weather(path.read_bytes(), FileChoices(file=path.name))

    def _station(self, options: dict[str, Any], readings: Readings) -> WeatherStation:
        """The station as given, as the file says, or as it is kept."""
        code = options["code"]
        kept = WeatherStation.objects.filter(code=code).first()
        own = readings.station
        latitude = _first(options["latitude"], own and own.latitude_deg, kept and kept.latitude_deg)
        longitude = _first(options["longitude"], own and own.longitude_deg, kept and kept.longitude_deg)
        if latitude is None or longitude is None:
            raise BadInput(
                [Fault(f"station {code}", "is new and its place is not known", "give --latitude and --longitude")]
            )
        height = _first(options["elevation"] or None, own and own.elevation_m, kept and kept.elevation_m) or 0.0
        try:
            place = Place(latitude_deg=latitude, longitude_deg=longitude, elevation_m=height)
        except ValueError as error:
            raise BadInput([Fault(f"station {code}", str(error), "check the sign and the order")]) from error
        name = options["name"] or (own.name if own else "") or (kept.name if kept else code)
        return save_station(code=code, name=name, place=place)


def _first(*values: Any) -> Any:
    return next((value for value in values if value is not None), None)
