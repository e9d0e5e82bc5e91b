"""What long commands share: a bar while they run, and one way to say no."""

from __future__ import annotations

import json
import sys
from types import TracebackType
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, OutputWrapper

from business.errors import Refusal

WIDTH = 28


class Bar:
    """A progress bar on a terminal; nothing where the output is a file."""

    def __init__(self, out: OutputWrapper) -> None:
        self.out = out
        self.is_shown = sys.stderr.isatty()

    def __enter__(self) -> Bar:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.is_shown:
            self.out.write("", ending="\r\033[K")

    def show(self, what: str, done: int, of: int) -> None:
        if not self.is_shown:
            return
        filled = WIDTH * done // max(of, 1)
        self.out.write(f"{what:8} {'█' * filled}{'·' * (WIDTH - filled)} {done} of {of}", ending="\r")
        self.out.flush()


def refuse(command: BaseCommand, refusal: Refusal, *, as_json: bool) -> NoReturn:
    """Say every fault and leave with status 2."""
    if as_json:
        faults: list[dict[str, Any]] = [
            {"where": fault.where, "wrong": fault.wrong, "remedy": fault.remedy} for fault in refusal.faults
        ]
        command.stdout.write(json.dumps({"faults": faults}))
    else:
        for fault in refusal.faults:
            command.stderr.write(str(fault))
    raise SystemExit(2) from refusal
