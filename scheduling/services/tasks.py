"""Answers to tasks: each becomes a record of its tree, and the need behind it is settled or comes back."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import ChangeNote, Staff
from business.services.audit import unsaved_note
from gardens.models import Record
from scheduling.models import Need, Task, Visit

ANSWER_NAMES = uuid.UUID("0d6a3a44-8b0e-4a1f-9b5a-3f7f5f0f2b11")
"""The name space of the records that answers leave, so that one answer is one record however often it arrives."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What the crew said about one task. ``value`` is in the record's unit (mm, degrees, count, kg)."""

    state: str
    reason: str = ""
    note: str = ""
    value: float | None = None


@transaction.atomic
def answer_task(*, task_id: int, answer: Answer, by: Staff | None, at: datetime | None = None) -> Task:
    """Settle one open task.

    Raises:
        AlreadyDone: it was answered before; undo it first.
        BadInput: the state is not an answer, or "not done" has no reason.
    """
    task = Task.objects.select_for_update().select_related("work_order__visit__site").get(pk=task_id)
    if task.state != Task.State.OPEN:
        raise AlreadyDone([Fault(f"task {task.number}", f"is already {task.get_state_display()}", "undo it first")])
    if answer.state not in (Task.State.DONE, Task.State.NOT_DONE):
        raise BadInput([Fault("answer", f"{answer.state!r} is not an answer", "say done or not_done")])
    if answer.state == Task.State.NOT_DONE and answer.reason not in Task.Reason.values:
        known = ", ".join(Task.Reason.values)
        raise BadInput([Fault("reason", "a job that was not done needs its reason", f"choose one of {known}")])
    before = told(task)
    task.state = answer.state
    task.reason = answer.reason if answer.state == Task.State.NOT_DONE else ""
    task.note = answer.note
    task.value = answer.value
    task.answered_at = at or clock.now()
    task.answered_by = by
    task.full_clean()
    task.save()
    _keep(answer_note(task, before))
    _write_record(task)
    if task.state == Task.State.DONE:
        _settle_need(task, Need.State.DONE)
    elif task.reason == Task.Reason.NOT_NEEDED:
        _settle_need(task, Need.State.WITHDRAWN)
    return task


@transaction.atomic
def undo_answer(*, task_id: int) -> Task:
    """Open a task again and withdraw the record its answer left. The visit must not be finished.

    Raises:
        AlreadyDone: the visit is finished.
    """
    task = Task.objects.select_for_update().select_related("work_order__visit").get(pk=task_id)
    if task.work_order.visit.state == Visit.State.FINISHED:
        raise AlreadyDone([Fault(f"task {task.number}", "belongs to a finished visit", "correct the record instead")])
    if task.state == Task.State.OPEN:
        return task
    Record.objects.filter(reference=f"task:{task.pk}", is_withdrawn=False).update(is_withdrawn=True)
    before = told(task)
    task.state, task.reason, task.note, task.value = Task.State.OPEN, "", "", None
    task.answered_at, task.answered_by = None, None
    task.save()
    _keep(answer_note(task, before))
    _settle_need(task, Need.State.OPEN)
    return task


def told(task: Task) -> dict[str, object]:
    """What was said of a job, as a note of change tells it."""
    return {"state": task.state, "reason": task.reason, "note": task.note, "value": task.value}


def answer_note(task: Task, before: dict[str, object]) -> ChangeNote | None:
    """Who changed the answer to a job, kept with its visit; the job comes with its work order."""
    act = f"job {task.number} {'opened again' if task.state == Task.State.OPEN else 'answered'}"
    return unsaved_note(act, f"visit:{task.work_order.visit_id}", before=before, after=told(task))


def _keep(note: ChangeNote | None) -> None:
    if note is not None:
        note.save()


def _settle_need(task: Task, state: str) -> None:
    if task.need_id is not None:
        Need.objects.filter(pk=task.need_id).update(state=state)


def record_of_answer(task: Task) -> Record | None:
    """The record that the answer of a task leaves on its tree or support, not yet stored; None where it leaves none."""
    if task.is_part and task.state == Task.State.DONE:
        return None  # the tree is done when the last part is
    if task.state == Task.State.DONE:
        return _unsaved(task, kind=Record.Kind.DONE, what=task.kind, value=_value_done(task))
    if task.reason == Task.Reason.LOST and task.tree_id and task.limb != "whole":
        return _unsaved(task, kind=Record.Kind.SEEN, what="lost", value=None)
    return None


def _write_record(task: Task) -> None:
    record = record_of_answer(task)
    if record is not None and not Record.objects.filter(uid=record.uid).exists():
        record.save()


def _value_done(task: Task) -> float | None:
    """What was measured; else, for a cut or a bend, what the work order asked for."""
    if task.value is not None:
        return task.value
    if task.kind in ("tie_in", "lower_arms"):
        return task.to_angle_deg
    return float(task.at_mm) if task.at_mm is not None else None


def _unsaved(task: Task, *, kind: str, what: str, value: float | None) -> Record:
    assert task.answered_at is not None  # noqa: S101 - set by the caller
    site = task.work_order.visit.site
    # A task answered, undone and answered again leaves a new record; the moment tells the two apart.
    return Record(
        uid=uuid.uuid5(ANSWER_NAMES, f"{task.pk}|{what}|{task.answered_at.isoformat()}"),
        tree_id=task.tree_id,
        support_id=None if task.tree_id else task.support_id,
        on=clock.today(site.zone, at=task.answered_at),
        kind=kind,
        what=what,
        limb=task.limb,
        value=value,
        text=task.note,
        made_by_id=task.answered_by_id,
        source=Record.Source.TASK,
        reference=f"task:{task.pk}",
        entered_at=clock.now(),
    )
