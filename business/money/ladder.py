"""When the next reminder of a late invoice is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, kw_only=True)
class Step:
    """A step of the ladder. ``days_late``: days after the due day on which it falls due. [d]"""

    number: int
    days_late: int


@dataclass(frozen=True, kw_only=True)
class StepDue:
    """The next step, and the first day it may be taken."""

    number: int
    on: date


def next_step(steps: Sequence[Step], *, due_on: date, taken: Sequence[tuple[int, date]]) -> StepDue | None:
    """The step after the last one taken; None once all were taken.

    A step taken late moves the next one: between two letters lie at least the days that lie between their steps, so
    that nobody who was forgotten for a month gets three letters in a day.

    Args:
        taken: number and day of each step taken so far.
    """
    ladder = sorted(steps, key=lambda step: step.number)
    last_number, last_day = max(taken, default=(0, None))
    following = next((step for step in ladder if step.number > last_number), None)
    if following is None:
        return None
    on = due_on + timedelta(days=following.days_late)
    before = max((step.days_late for step in ladder if step.number <= last_number), default=0)
    if last_day is not None:
        on = max(on, last_day + timedelta(days=max(1, following.days_late - before)))
    return StepDue(number=following.number, on=on)
