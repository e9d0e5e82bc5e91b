"""Check a support described in a JSON file: tension, sag, loads, a verdict per part, what to buy."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from business.errors import BadInput
from gardens.drawing import LayoutSheet, Options, draw_layout
from gardens.supports import (
    EXAMPLES,
    SupportLayout,
    bill_of_materials,
    check_support,
    layout_of,
    read_support,
    report_as_dict,
    report_as_text,
)
from gardens.units import Units


class Command(BaseCommand):
    help = "Check a support described in FILE.json; --example prints a file to start from."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", type=Path, help="the support as JSON")
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
        parser.add_argument("--units", choices=("metric", "imperial"), default="metric", help="lengths in sentences")
        parser.add_argument("--drawing", type=Path, metavar="FILE.svg", help="write the elevation with its dimensions")
        parser.add_argument("--example", choices=sorted(EXAMPLES), help="print an example file and stop")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["example"]:
            self.stdout.write(json.dumps(EXAMPLES[options["example"]], indent=2, ensure_ascii=False))
            return
        try:
            support = read_support(_document(options["file"]), where=options["file"].name)
            bill, layout = bill_of_materials(support), layout_of(support)
        except BadInput as refusal:
            raise CommandError("\n".join(str(fault) for fault in refusal.faults), returncode=2) from refusal
        report = check_support(support, units=options["units"])
        if options["drawing"]:
            _draw(options["drawing"], layout, support.name, options["units"])
        if options["json"]:
            self.stdout.write(json.dumps(report_as_dict(report, bill, layout), ensure_ascii=False))
        else:
            self.stdout.write(report_as_text(report, bill, units=options["units"]))


def _draw(path: Path, layout: SupportLayout, name: str, units: Units) -> None:
    drawing = draw_layout(layout, (), Options(max_height_mm=110, units=units), LayoutSheet(label=name))
    try:
        path.write_text(drawing, encoding="utf-8")
    except OSError as error:
        raise CommandError(f"{path}: cannot be written: {error.strerror}", returncode=2) from error


def _document(path: Path | None) -> dict[str, Any]:
    if path is None:
        raise CommandError("give FILE.json, or --example wall for a file to start from", returncode=2)
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise CommandError(
            f"{path}: cannot be read: {error.strerror} (give the path of a file)", returncode=2
        ) from error
    except UnicodeDecodeError as error:
        raise CommandError(f"{path.name}: is not UTF-8 (save it as UTF-8)", returncode=2) from error
    except json.JSONDecodeError as error:
        where = f"{path.name}, line {error.lineno}, column {error.colno}"
        raise CommandError(f"{where}: {error.msg} (write it as JSON, see --example wall)", returncode=2) from error
    if not isinstance(document, dict):
        raise CommandError(f"{path.name}: is not a table (begin with {{, see --example wall)", returncode=2)
    return document
