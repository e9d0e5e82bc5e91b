"""A visit's way from suggestion to finish."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F

from business import clock
from business.errors import AlreadyDone, BadInput, Fault, Stale
from business.jobs import later
from business.services.audit import note, values_of
from scheduling.models import Need, Task, Visit


@transaction.atomic
def confirm_visit(*, visit_id: int, revision: int | None = None) -> Visit:
    """The client agreed to the day."""
    visit = _locked(visit_id, revision)
    if visit.state == Visit.State.CONFIRMED:
        return visit
    if visit.state != Visit.State.PLANNED:
        raise _wrong_state(visit, "agree", "plan it first")
    visit.state = Visit.State.CONFIRMED
    return _saved(visit, "agreed")


@transaction.atomic
def fix_visit(*, visit_id: int, is_locked: bool, revision: int | None = None) -> Visit:
    """Lock a visit so that no plan moves it, or let it move again."""
    visit = _locked(visit_id, revision)
    if is_locked and visit.state == Visit.State.PROPOSED:
        raise _wrong_state(visit, "fix", "plan it first: it has no day yet")
    visit.is_locked = is_locked
    return _saved(visit, "fixed" if is_locked else "set free")


@transaction.atomic
def call_off_visit(*, visit_id: int, reason: str, revision: int | None = None) -> Visit:
    """Call a visit off; its open work goes back to the needs without a visit."""
    visit = _locked(visit_id, revision)
    if visit.state == Visit.State.FINISHED:
        raise _wrong_state(visit, "call off", "it is over")
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why, such as rain, frost, nobody home")])
    visit.state = Visit.State.CALLED_OFF
    visit.reason = reason.strip()
    visit.is_locked = False
    visit.called_off_crew = visit.round.crew if visit.round else None
    visit.round, visit.position = None, None
    # The tasks nobody answered leave the sheet, so that their needs can be laid on another visit.
    Task.objects.filter(work_order__visit=visit, state=Task.State.OPEN).delete()
    return _saved(visit, "called off")


@transaction.atomic
def start_visit(*, visit_id: int, at: datetime | None = None) -> Visit:
    """The crew is there."""
    visit = _locked(visit_id, None)
    if visit.state == Visit.State.STARTED:
        return visit
    if visit.state not in (Visit.State.PLANNED, Visit.State.CONFIRMED):
        raise _wrong_state(visit, "start", "plan it first")
    visit.state = Visit.State.STARTED
    visit.started_at = at or clock.now()
    return _saved(visit, "started")


@transaction.atomic
def finish_visit(
    *, visit_id: int, minutes_taken: int | None = None, note: str = "", at: datetime | None = None
) -> Visit:
    """Close a visit. Every task must have its answer; what was not done comes back while its window is open."""
    visit = _locked(visit_id, None)
    if visit.state == Visit.State.FINISHED:
        raise AlreadyDone([Fault(f"visit to {visit.site}", "is already finished", "correct its records instead")])
    if visit.state not in (Visit.State.PLANNED, Visit.State.CONFIRMED, Visit.State.STARTED):
        raise _wrong_state(visit, "finish", "plan it first")
    unanswered = list(
        Task.objects.filter(work_order__visit=visit, state=Task.State.OPEN).select_related("tree").order_by("pk")
    )
    if unanswered:
        raise BadInput(
            Fault(f"{task.tree or visit.site}, job {task.number}", "has no answer", "say done, or not done and why")
            for task in unanswered
        )
    finished_at = at or clock.now()
    visit.state = Visit.State.FINISHED
    visit.finished_at = finished_at
    visit.started_at = min(visit.started_at or finished_at, finished_at)
    visit.minutes_taken = minutes_taken
    visit.note = note or visit.note
    _lapse_what_is_too_late(visit)
    finished = _saved(visit, "finished")
    later("scheduling.tasks.close_finished", visit_id=visit.pk)
    return finished


def _lapse_what_is_too_late(visit: Visit) -> None:
    """Needs of this visit that were not done and whose window closed are missed; the others stay open."""
    day = clock.today(visit.site.zone)
    Need.objects.filter(
        tasks__work_order__visit=visit, tasks__state=Task.State.NOT_DONE, state=Need.State.OPEN, closes__lt=day
    ).update(state=Need.State.LAPSED)


def _locked(visit_id: int, revision: int | None) -> Visit:
    visit = Visit.objects.select_for_update(of=("self",)).select_related("site").get(pk=visit_id)
    if revision is not None and visit.revision != revision:
        raise Stale(
            [Fault(f"visit to {visit.site}", "was changed by somebody else meanwhile", "look at it again, then repeat")]
        )
    return visit


def _saved(visit: Visit, act: str) -> Visit:
    visit.full_clean()
    before = values_of(Visit.objects.get(pk=visit.pk))
    visit.revision += 1
    visit.save()
    note(f"visit {act}", f"visit:{visit.pk}", before=before, after=values_of(visit))
    return visit


def _wrong_state(visit: Visit, act: str, remedy: str) -> BadInput:
    state = visit.get_state_display().lower()
    return BadInput([Fault(f"visit to {visit.site}", f"is {state}, you cannot {act} it", remedy)])


def touch_visits(visit_ids: list[int]) -> None:
    """Raise the revision of visits changed in bulk, so that pages open elsewhere notice."""
    Visit.objects.filter(pk__in=visit_ids).update(revision=F("revision") + 1)
