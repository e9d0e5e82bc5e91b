"""What is due on one tree, what may be done on a day, and when its form is full: without a database."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from business.errors import BadInput, Fault, Refusal
from gardens.climate import DailyWeather, FileChoices, Place, read_weather
from gardens.pruning.advice import AdviceRequest, advise, faults_of_request
from gardens.pruning.advice_report import advice_as_dict, advice_as_text
from gardens.training import FORM_ONLY, TrainingPractice, read_practice


class Command(BaseCommand):
    help = (
        "Advise on one tree: its stage, the stages of its year, what is due in the next twelve months, what may be done "
        "on the day and what not, and when its form will be full. Unknown species and forms are answered with the list "
        "of known ones."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--species", required=True, help="an id or a plain name: apple_spur, pear, sweet cherry")
        parser.add_argument("--form", required=True, help="a form id: horizontal_tiers, fan, oblique_cordon")
        parser.add_argument("--planted", required=True, help="day of planting, as 2022-12-01")
        parser.add_argument("--date", required=True, help="the day asked about, as 2026-07-20")
        parser.add_argument("--latitude", required=True, help="degrees, north positive")
        parser.add_argument("--longitude", required=True, help="degrees, east positive")
        parser.add_argument("--elevation", help="metres above the sea (0)")
        parser.add_argument("--tiers", help="tiers wanted, 1 to 12")
        parser.add_argument("--rootstock", help="as M26, Quince A, St Julien A")
        parser.add_argument("--cultivar", help="name of the sort")
        parser.add_argument("--leader-cm", help="height of the leader today in cm")
        parser.add_argument("--profile", help="maritime, continental_cold or mediterranean; else from the place")
        parser.add_argument("--weather", type=Path, help="daily weather: CSV with date,tmin,tmax in °C, or GHCN-Daily")
        parser.add_argument("--practice", type=Path, help='how you train, as TOML: low_shoots = "remove"')
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            request = _request(options)
            advice = advise(request)
        except Refusal as refusal:
            raise CommandError("\n".join(map(str, refusal.faults)), returncode=2) from refusal
        if options["json"]:
            self.stdout.write(json.dumps(advice_as_dict(advice), ensure_ascii=False))
        else:
            self.stdout.write(advice_as_text(advice, request.on))


class _Reader:
    """Reads options and keeps every fault, so that all are told at once."""

    def __init__(self, options: dict[str, Any]) -> None:
        self._options = options
        self.faults: list[Fault] = []

    def text(self, name: str) -> str | None:
        value = self._options.get(name)
        return None if value is None else str(value)

    def day(self, name: str) -> date:
        text = self.text(name) or ""
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.faults.append(Fault(f"--{name}", f"{text!r} is not a date", "write it as 2026-07-20"))
            return date.min

    def number(self, name: str, low: float, high: float) -> float | None:
        text = self.text(name)
        if text is None:
            return None
        option = f"--{name.replace('_', '-')}"
        try:
            value = float(text)
        except ValueError:
            self.faults.append(Fault(option, f"{text!r} is not a number", f"give {low:g} to {high:g}"))
            return None
        if not low <= value <= high:
            self.faults.append(Fault(option, f"{value:g} is out of range", f"give {low:g} to {high:g}"))
            return None
        return value


def _request(options: dict[str, Any]) -> AdviceRequest:
    """The question out of the options; refuses with the faults of all of them."""
    read = _Reader(options)
    planted, on = read.day("planted"), read.day("date")
    latitude, longitude = read.number("latitude", -66, 70), read.number("longitude", -180, 180)
    elevation = read.number("elevation", -400, 4000)
    tiers, leader_cm = read.number("tiers", 1, 12), read.number("leader_cm", 0, 1200)
    weather = _weather(options.get("weather"), read.faults)
    practice = _practice(options.get("practice"), read.faults)
    request = AdviceRequest(
        species=read.text("species") or "",
        form=read.text("form") or "",
        planted_on=planted,
        on=on,
        place=Place(latitude_deg=latitude or 0.0, longitude_deg=longitude or 0.0, elevation_m=elevation or 0.0),
        tiers=None if tiers is None else round(tiers),
        rootstock=read.text("rootstock"),
        cultivar=read.text("cultivar") or "",
        leader_mm=None if leader_cm is None else round(leader_cm * 10),
        weather=weather,
        profile=read.text("profile"),
        practice=practice,
    )
    if read.faults:
        names = [fault for fault in faults_of_request(request) if fault.where in ("species", "form", "profile")]
        raise BadInput([*read.faults, *names])
    return request


def _weather(path: Path | None, faults: list[Fault]) -> tuple[DailyWeather, ...]:
    if path is None:
        return ()
    try:
        return tuple(read_weather(path.read_bytes(), FileChoices(file=path.name)).days)
    except OSError as error:
        faults.append(Fault("--weather", f"{path} cannot be read: {error.strerror}", "name a file that exists"))
    except BadInput as refusal:
        faults.extend(refusal.faults)
    return ()


def _practice(path: Path | None, faults: list[Fault]) -> TrainingPractice:
    if path is None:
        return FORM_ONLY
    try:
        return read_practice(path.read_text(encoding="utf-8"), where=path.name, base=FORM_ONLY)
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "it is not UTF-8"
        faults.append(Fault("--practice", f"{path} cannot be read: {why}", "name a file that exists"))
    except BadInput as refusal:
        faults.extend(refusal.faults)
    return FORM_ONLY
