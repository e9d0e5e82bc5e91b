"""Plans worked out by a job: asked for, taken up by a worker, watched, stopped, cleared when the worker is gone.

A run is two rows: the plan, under way until it is offered, and the run with its progress. Nothing else is written
before the answer is there, so a run that dies leaves no trace in the rounds.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from django.conf import settings
from django.db import OperationalError, transaction
from django.db.models import F, Q

from business import clock
from business.errors import AlreadyDone, Fault, Refusal
from business.jobs import later
from business.models import Staff
from scheduling.models import Plan, PlanRun, Visit
from scheduling.queries.plan_runs import LOST_AFTER, is_lost, lost_runs
from scheduling.rounds import Effort, Progress
from scheduling.services import replanning
from scheduling.services.offers import offer_plan
from scheduling.services.questions import Asked, find_answer, put_question
from scheduling.services.round_problem import places_of
from scheduling.services.scenes import check_span, our_today, scene_crews
from scheduling.services.travel import ask_road_service

log = logging.getLogger(__name__)

JOB = "scheduling.tasks.work_out_plan"
BEAT_SECONDS = 1.0
"""A sign of life this often while a worker searches."""
MOST_ATTEMPTS = 2


def start_laying(*, first_day: date, last_day: date, seconds: float, by: Staff | None = None) -> Plan:
    """Have the rounds of a span laid anew and offered.

    Raises:
        BadInput: the days are in the wrong order or too many, or there is no crew.
    """
    check_span(first_day, last_day)
    scene_crews()
    question = {"kind": "lay", "first_day": first_day.isoformat(), "last_day": last_day.isoformat()}
    cause = f"Rounds from {first_day:%-d %B} to {last_day:%-d %B}"
    return _queue(question, cause=cause, days=(first_day, last_day), seconds=seconds, by=by)


def start_run(*, question: Mapping[str, Any], by: Staff | None = None) -> Plan:
    """Have a plan mended and offered. The question is put to the book first, so that what is wrong is told at once.

    Raises:
        BadInput: it cannot be asked; each fault says what would help.
    """
    asked = put_question(question)
    days = (asked.scene.first_day, asked.scene.last_day)
    return _queue(question, cause=asked.cause, days=days, seconds=replanning.USUAL_EFFORT.seconds or 6.0, by=by)


def start_for_need(*, need_id: int, by: Staff | None = None) -> Plan:
    """A place soon for work that no visit serves. The visit made for it goes again if no place is found.

    Raises:
        BadInput: the work is settled or on a visit already.
    """
    visit = replanning.visit_for_need(need_id=need_id)
    try:
        return start_run(question={"kind": "urgent", "visit": visit.pk, "made_for_need": need_id}, by=by)
    except Refusal:
        visit.delete()
        raise


@transaction.atomic
def _queue(
    question: Mapping[str, Any], *, cause: str, days: tuple[date, date], seconds: float, by: Staff | None
) -> Plan:
    now = clock.now()
    plan = Plan.objects.create(
        made_at=now,
        made_by=by,
        cause=cause[:120],
        first_day=days[0],
        last_day=days[1],
        state=Plan.State.RUNNING,
    )
    PlanRun.objects.create(plan=plan, question=dict(question), seconds=seconds, queued_at=now)
    later(JOB, plan_id=plan.pk)
    return plan


def work_out_plan(*, plan_id: int) -> bool:
    """The job. Tells whether this call did the work: not if another worker has it, or it is over."""
    run = _take_up(plan_id)
    if run is None:
        return False
    pulse = _Pulse(run)
    try:
        asked = _asked(run, pulse)
        found = find_answer(asked, _effort(run, pulse))
        pulse.tell(stage="writing down what would change")
        with transaction.atomic():
            if _mine(run) is None:
                return False
            offer_plan(asked, found, into=run.plan)
            _end(run)
    except Refusal as refusal:
        return _give_up(run, refusal.faults)
    except Exception:
        _give_up(run, [Fault("plan", "could not be worked out", "try again; the log of the worker says what broke")])
        raise
    return True


def _asked(run: PlanRun, pulse: _Pulse) -> Asked:
    """The question on the book as it is now, with drives a road service tells where one is set up."""
    asked = put_question(run.question)
    pulse.tell(stage="reading the rounds as they stand", asked=len(asked.problem.visits))
    if not settings.ROAD_MATRIX_URL:
        return asked
    pulse.tell(stage="asking the road service")
    trouble = ask_road_service(places_of(asked.scene.crews, asked.scene.visits))
    asked = put_question(run.question)
    if trouble:
        asked.scene.notes.append(trouble)
    return asked


def _effort(run: PlanRun, pulse: _Pulse) -> Effort:
    usual = replanning.USUAL_EFFORT
    return replace(
        usual,
        seconds=run.seconds if usual.iterations is None else None,
        on_progress=pulse.hear,
        should_stop=pulse.should_stop,
    )


def _take_up(plan_id: int) -> PlanRun | None:
    """Make the run ours, unless it is over or somebody else's who still lives."""
    now = clock.now()
    free = Q(started_at=None) | Q(beat_at__lt=now - LOST_AFTER)
    taken = PlanRun.objects.filter(
        free, plan=plan_id, plan__state=Plan.State.RUNNING, attempt__lt=MOST_ATTEMPTS
    ).update(attempt=F("attempt") + 1, started_at=now, beat_at=now)
    return PlanRun.objects.select_related("plan").get(plan=plan_id) if taken else None


def _mine(run: PlanRun) -> Plan | None:
    """The plan, locked, if it is still to be worked out and by us."""
    plan = Plan.objects.select_for_update().filter(pk=run.plan_id, state=Plan.State.RUNNING).first()
    is_ours = PlanRun.objects.filter(pk=run.pk, attempt=run.attempt).exists()
    return plan if is_ours else None


def _end(run: PlanRun, faults: Sequence[Fault] = ()) -> None:
    kept = [{"where": fault.where, "wrong": fault.wrong, "remedy": fault.remedy} for fault in faults]
    PlanRun.objects.filter(pk=run.pk).update(ended_at=clock.now(), stage="", faults=kept)


@transaction.atomic
def _give_up(run: PlanRun, faults: Sequence[Fault]) -> bool:
    """The run came to nothing; why is kept with it."""
    plan = _mine(run)
    if plan is None:
        return False
    _drop(plan, run, faults)
    return True


def _drop(plan: Plan, run: PlanRun, faults: Sequence[Fault] = ()) -> None:
    plan.state = Plan.State.DROPPED
    plan.save(update_fields=["state"])
    _end(run, faults)
    if "made_for_need" in run.question:
        Visit.objects.filter(pk=run.question["visit"], state=Visit.State.PROPOSED, on=None).delete()


class _Pulse:
    """Writes a run's progress and hears whether it shall stop, not more often than a person looks."""

    def __init__(self, run: PlanRun) -> None:
        self.run = run
        self.wrote_at = self.asked_at = time.monotonic()
        self.stop = False

    def hear(self, progress: Progress) -> None:
        """Called by the search several times a second."""
        if time.monotonic() - self.wrote_at >= BEAT_SECONDS:
            self.tell(stage=progress.stage, placed=progress.placed, asked=progress.asked)

    def tell(self, **values: int | str) -> None:
        """Write where the run is, and that it lives."""
        self.wrote_at = time.monotonic()
        try:
            mine = PlanRun.objects.filter(pk=self.run.pk, attempt=self.run.attempt, plan__state=Plan.State.RUNNING)
            # Cleared by a person or taken up by another worker: whatever is found here is no longer wanted.
            self.stop = not mine.update(beat_at=clock.now(), **values) or self.stop
        except OperationalError:
            log.warning("plan %s: the database was busy, no sign of life was written", self.run.plan_id)

    def should_stop(self) -> bool:
        """Whether somebody asked to stop."""
        if not self.stop and time.monotonic() - self.asked_at >= BEAT_SECONDS / 2:
            self.asked_at = time.monotonic()
            try:
                asked = PlanRun.objects.filter(pk=self.run.pk).values_list("stop_asked_at", flat=True).first()
            except OperationalError:
                return False
            self.stop = asked is not None
        return self.stop


@transaction.atomic
def stop_run(*, plan_id: int) -> Plan:
    """Ask the worker to stop: the best plan so far is offered. A run nobody took up yet is dropped.

    Raises:
        AlreadyDone: it is not under way.
    """
    plan, run = _under_way(plan_id)
    if run.started_at is None:
        _drop(plan, run)
    elif run.stop_asked_at is None:
        run.stop_asked_at = clock.now()
        run.save(update_fields=["stop_asked_at"])
    return plan


@transaction.atomic
def clear_run(*, plan_id: int) -> Plan:
    """Drop a run whatever its worker does; one that comes back to life finds its work no longer wanted.

    Raises:
        AlreadyDone: it is not under way.
    """
    plan, run = _under_way(plan_id)
    _drop(plan, run)
    return plan


@transaction.atomic
def run_again(*, plan_id: int) -> Plan:
    """Queue the question of a run that is over or lost once more.

    Raises:
        AlreadyDone: it is under way and lives, came to an answer, or was written at once by a command.
    """
    plan = Plan.objects.select_for_update().get(pk=plan_id)
    run = PlanRun.objects.filter(plan=plan).first()
    if run is None:
        raise AlreadyDone([Fault("plan", "was written at once", "lay the rounds anew if something is to change")])
    if plan.state == Plan.State.RUNNING and is_lost(run, clock.now()):
        _drop(plan, run)
    elif plan.state != Plan.State.DROPPED or not run.faults or "made_for_need" in run.question:
        state = plan.get_state_display().lower()
        raise AlreadyDone([Fault("plan", f"is {state}", "ask for a new one if something is to change")])
    days = (max(plan.first_day, min(our_today(), plan.last_day)), plan.last_day)
    return _queue(run.question, cause=plan.cause, days=days, seconds=run.seconds, by=plan.made_by)


def _under_way(plan_id: int) -> tuple[Plan, PlanRun]:
    plan = Plan.objects.select_for_update().get(pk=plan_id)
    if plan.state != Plan.State.RUNNING:
        state = plan.get_state_display().lower()
        raise AlreadyDone([Fault("plan", f"is {state}", "look at it again")])
    return plan, PlanRun.objects.select_for_update().get(plan=plan)


def take_up_lost_runs() -> int:
    """The sweep: runs whose job or worker was lost are queued again, twice at most, then given up."""
    now = clock.now()
    queued = 0
    for run in lost_runs(now):
        if run.attempt >= MOST_ATTEMPTS or run.stop_asked_at is not None:
            with transaction.atomic():
                plan = Plan.objects.select_for_update().filter(pk=run.plan_id, state=Plan.State.RUNNING).first()
                if plan is not None:
                    _drop(plan, run, [Fault("plan", "lost its worker", "ask for it again")])
        else:
            later(JOB, plan_id=run.plan_id)
            queued += 1
    return queued
