"""The program's Celery application with traps, for tests that kill workers.

A file ``DEADLY/PLACE-ID`` is a trap for the job that sends message ID: ``before`` its first step or ``after`` its last,
the worker dies with all its children; at ``child`` the child alone dies. A trap is gone once it has sprung; of several
at one place the last one kills. ``CLOCK_AT`` sets the worker's clock to another moment; it goes on ticking from there.
"""

from __future__ import annotations

import os
import signal
import time
from datetime import datetime
from pathlib import Path
from typing import Any

from celery.signals import task_postrun, task_prerun

from deploy.celery import app

__all__ = ["app"]

if moment := os.environ.get("CLOCK_AT"):
    import time_machine

    time_machine.travel(datetime.fromisoformat(moment), tick=True).start()


def spring(place: str, kwargs: dict[str, Any]) -> None:
    folder = Path(os.environ["DEADLY"])
    try:
        (folder / f"{place}-{kwargs.get('message_id')}").unlink()
    except FileNotFoundError:
        return
    if place == "child":
        os.kill(os.getpid(), signal.SIGKILL)
    while any(folder.glob(f"{place}-*")):
        time.sleep(0.02)
    os.killpg(os.getpgrp(), signal.SIGKILL)


if "DEADLY" in os.environ:

    @task_prerun.connect(weak=False)
    def before(kwargs: dict[str, Any], **about: Any) -> None:
        spring("child", kwargs)
        spring("before", kwargs)

    @task_postrun.connect(weak=False)
    def after(kwargs: dict[str, Any], **about: Any) -> None:
        spring("after", kwargs)
