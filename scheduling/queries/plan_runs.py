"""How far a plan under way is, and whether anybody still works on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from scheduling.models import Plan, PlanRun

LOST_AFTER = timedelta(seconds=60)
"""A run without a sign of life for so long has lost its worker. Reading the book and giving reasons take seconds."""
NOT_TAKEN_UP_AFTER = timedelta(seconds=60)
"""A job that waits for so long found no worker, or was lost on the way."""


@dataclass(frozen=True, kw_only=True)
class RunSeen:
    """A run as the page shows it. ``percent`` is of the time given, which a search always uses up."""

    run: PlanRun
    seconds: int
    is_waiting: bool
    is_stopping: bool
    is_lost: bool

    @property
    def percent(self) -> int:
        """Of the time given, that has passed; 99 while the answer is written down."""
        return min(99, int(100 * self.seconds / self.run.seconds)) if self.run.seconds else 0

    @property
    def missing(self) -> int:
        """Visits the best plan so far leaves out."""
        return max(0, self.run.asked - self.run.placed)


def run_seen(plan: Plan, now: datetime) -> RunSeen | None:
    """The run of a plan, or None if a plan was written at once."""
    run = PlanRun.objects.filter(plan=plan).first()
    if run is None:
        return None
    return RunSeen(
        run=run,
        seconds=int((now - run.started_at).total_seconds()) if run.started_at else 0,
        is_waiting=run.started_at is None,
        is_stopping=run.stop_asked_at is not None,
        is_lost=is_lost(run, now),
    )


def is_lost(run: PlanRun, now: datetime) -> bool:
    """Whether the run has no worker any more, or never found one."""
    if run.beat_at is not None:
        return now - run.beat_at > LOST_AFTER
    return now - run.queued_at > NOT_TAKEN_UP_AFTER


def lost_runs(now: datetime) -> QuerySet[PlanRun]:
    """Runs under way that have no worker."""
    silent = Q(beat_at__lt=now - LOST_AFTER) | Q(beat_at=None, queued_at__lt=now - NOT_TAKEN_UP_AFTER)
    return PlanRun.objects.filter(silent, plan__state=Plan.State.RUNNING).select_related("plan").order_by("pk")
