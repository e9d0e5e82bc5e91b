"""Chill, heat, frost and sun of a span of days from a weather file."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from django.core.management.base import BaseCommand, CommandError

from business.errors import BadInput, Fault, Refusal
from gardens.climate import (
    FileChoices,
    read_question,
    read_weather,
    remarks,
    summarize,
    summary_as_dict,
    summary_as_text,
)

First = TypeVar("First")
Second = TypeVar("Second")

UNITS = ("celsius", "fahrenheit", "tenths_celsius")


class Command(BaseCommand):
    help = (
        "Chill hours, Utah units, chill portions, degree-days, growing degree hours and frosts of a span, with the sun "
        "of its last day. FILE is a CSV with date,tmin,tmax[,rain][,wind] in °C, or a GHCN-Daily file."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--latitude", required=True, help="degrees, north positive")
        parser.add_argument("--longitude", required=True, help="degrees, east positive")
        parser.add_argument("--timezone", required=True, help="as Europe/London")
        parser.add_argument("--from", required=True, help="first day, as 2026-01-01")
        parser.add_argument("--until", required=True, help="last day, included")
        parser.add_argument("--base", help="base of the degree-days in °C (10)")
        parser.add_argument("--units", choices=UNITS, help="units of the temperatures, where the file leaves them open")
        parser.add_argument("--station", help="the station to read, where the file holds several")
        parser.add_argument("--turn-reversed", action="store_true", help="turn days whose minimum is above the maximum")
        parser.add_argument("--json", action="store_true", help="answer as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        choices = FileChoices(
            file=path.name,
            units=options["units"],
            station=options["station"],
            swap_reversed=options["turn_reversed"],
        )
        try:
            question, readings = _both(lambda: read_question(options), lambda: read_weather(_bytes(path), choices))
            summary = summarize(readings, question.place, question.first, question.last, question.base_c)
        except Refusal as refusal:
            raise CommandError("\n".join(map(str, refusal.faults)), returncode=2) from refusal
        for remark in remarks(summary, readings):
            self.stderr.write(remark)
        if options["json"]:
            self.stdout.write(json.dumps(summary_as_dict(summary)))
        else:
            self.stdout.write(summary_as_text(summary, question))


def _both(first: Callable[[], First], second: Callable[[], Second]) -> tuple[First, Second]:
    """Both results, or the faults of both."""
    try:
        answer = first()
    except BadInput as refusal:
        try:
            second()
        except BadInput as more:
            raise BadInput([*refusal.faults, *more.faults]) from more
        raise
    return answer, second()


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadInput([Fault(str(path), error.strerror or "it cannot be read", "give the path of a file")]) from error
