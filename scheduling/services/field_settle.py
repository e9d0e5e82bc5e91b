"""Reckon jobs and needs anew from everything that was said about them.

Whatever order acts come in, the same set of acts leaves the same standing: a job's state is the fold of all answers to
it, those of the office included.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.db.models import Q

from business.jobs import later
from business.services.audit import keep_notes
from gardens.models import Record
from scheduling.merging import Answer, Standing, merge_answers
from scheduling.models import FieldAct, Need, Phone, Task, Visit
from scheduling.services.field_closing import close_visits
from scheduling.services.field_facts import withdraw_facts, write_facts
from scheduling.services.field_measures import settle_measures
from scheduling.services.field_reading import ANSWERS
from scheduling.services.field_words import is_for_the_office
from scheduling.services.tasks import answer_note, record_of_answer, told

Kind = FieldAct.Kind
OFFICE_ACTS = uuid.UUID("5f0c7e9a-3f1d-4c55-9d0e-6a2f0c6f7b90")
"""The name space of the acts that stand for what the office said on its own pages."""
CHANGING = ["state", "reason", "note", "value", "answered_at", "answered_by"]


def settle(*, fresh: Sequence[FieldAct], phone: Phone, on: datetime) -> None:
    """Everything that follows from acts just stored. Runs inside the batch's transaction."""
    accepted = [act for act in fresh if act.result == FieldAct.Result.ACCEPTED]
    taken_back = _withdrawals(accepted)
    write_facts(accepted, taken_back)
    withdraw_facts(taken_back)
    touched = {act.task_id for act in accepted if act.task_id} | _tasks_of(taken_back)
    if touched:
        _Fold(touched, {act.pk for act in accepted}, on).run()
    settle_measures(accepted, on)
    close_visits(accepted, phone)
    _charge_late_materials(accepted)


def _charge_late_materials(accepted: Sequence[FieldAct]) -> None:
    """Materials that arrive after their visit was closed are charged by the same job, which does everything once."""
    visits = {act.visit_id for act in accepted if act.kind == Kind.MATERIAL and act.visit_id}
    over = Visit.objects.filter(pk__in=visits, state=Visit.State.FINISHED) if visits else ()
    for visit in over:
        later("scheduling.tasks.close_finished", visit_id=visit.pk)


def _withdrawals(accepted: Sequence[FieldAct]) -> set[uuid.UUID]:
    """The acts that count as taken back: by their own author only. Looks both ways, as either may come first."""
    uids = [act.uid for act in accepted]
    named = [act.withdraws for act in accepted if act.withdraws]
    rows = FieldAct.objects.filter(
        Q(withdraws__in=uids) | Q(withdraws__in=named), kind=Kind.WITHDRAWS, result=FieldAct.Result.ACCEPTED
    ).values_list("withdraws", "author_id")
    authors: dict[uuid.UUID, int | None] = dict(FieldAct.objects.filter(uid__in=named).values_list("uid", "author_id"))
    authors.update({act.uid: act.author_id for act in accepted})
    strangers = [
        act for act in accepted if act.withdraws and authors.get(act.withdraws, act.author_id) != act.author_id
    ]
    for act in strangers:
        _remark(act, {"not_yours"})
    if strangers:
        FieldAct.objects.bulk_update(strangers, ["flags", "is_open"])
    return {target for target, author in rows if target in authors and authors[target] == author}


def _tasks_of(uids: Iterable[uuid.UUID]) -> set[int]:
    found = FieldAct.objects.filter(uid__in=list(uids), task__isnull=False).values_list("task_id", flat=True)
    return set(found)


def _remark(act: FieldAct, flags: Iterable[str]) -> bool:
    """Add remarks to an act; tells whether anything changed. What the office has closed stays closed."""
    wanted = sorted({*act.flags, *flags})
    is_open = act.closed_at is None and (act.is_open or is_for_the_office(wanted))
    changed = wanted != act.flags or is_open != act.is_open
    act.flags, act.is_open = wanted, is_open
    return changed


class _Fold:
    """The jobs that were touched, with all that was ever said about them."""

    def __init__(self, task_ids: set[int], fresh: set[int], on: datetime) -> None:
        rows = Task.objects.select_for_update(of=("self",)).filter(pk__in=task_ids).order_by("pk")
        self.tasks = list(rows.select_related("work_order__visit__site"))
        self.fresh = fresh
        self.on = on
        self.acts: dict[int, list[FieldAct]] = defaultdict(list)
        for act in FieldAct.objects.filter(
            task__in=task_ids, kind__in=ANSWERS, result=FieldAct.Result.ACCEPTED
        ).order_by("pk"):
            self.acts[act.task_id or 0].append(act)
        uids = [act.uid for acts in self.acts.values() for act in acts]
        self.taken_back: list[tuple[uuid.UUID | None, int | None, bool]] = [
            (target, author, phone is None)
            for target, author, phone in FieldAct.objects.filter(
                kind=Kind.WITHDRAWS, withdraws__in=uids, result=FieldAct.Result.ACCEPTED
            ).values_list("withdraws", "author_id", "phone_id")
        ]
        self.office: list[FieldAct] = []
        self.remarked: list[FieldAct] = []

    def run(self) -> None:
        before = {task.pk: told(task) for task in self.tasks}
        changed = [task for task in self.tasks if self._settle(task)]
        FieldAct.objects.bulk_create(self.office, ignore_conflicts=True)
        if self.remarked:
            FieldAct.objects.bulk_update(self.remarked, ["flags", "is_open"])
        if not changed:
            return
        # An upsert of rows that are there and locked: bulk_update writes a CASE for every value and takes five times
        # as long for 500 jobs.
        Task.objects.bulk_create(changed, update_conflicts=True, unique_fields=["id"], update_fields=CHANGING)
        keep_notes([note for task in changed if (note := answer_note(task, before[task.pk])) is not None])
        self._records(changed)
        self._needs(changed)

    def _settle(self, task: Task) -> bool:
        """Bring one job to the standing of its acts; tells whether the row changed."""
        acts = self.acts[task.pk]
        self._hear_the_office(task, acts)
        standing = merge_answers(map(_answer, acts), self._gone(acts))
        self._remarks(task, acts, standing)
        is_over = task.work_order.visit.state == Visit.State.FINISHED
        if standing.lead is None and (is_over or task.state == Task.State.OPEN):
            return False
        return _apply(task, standing)

    def _gone(self, acts: Sequence[FieldAct]) -> set[str]:
        authors = {act.uid: act.author_id for act in acts}
        return {
            str(target)
            for target, author, by_office in self.taken_back
            if target in authors and (by_office or authors[target] == author)
        }

    def _hear_the_office(self, task: Task, acts: list[FieldAct]) -> None:
        """What the office said on its own pages counts like an act: its answer, or its undoing of ours."""
        before = [act for act in acts if act.pk not in self.fresh]
        if task.state != Task.State.OPEN:
            if not any(a.happened_at == task.answered_at and a.author_id == task.answered_by_id for a in acts):
                said = _office_answer(task, self.on)
                acts.append(said)
                self.office.append(said)
        elif merge_answers(map(_answer, before), self._gone(before)).lead is not None:
            for act in before:
                undone = _office_undo(act, self.on)
                self.office.append(undone)
                self.taken_back.append((act.uid, undone.author_id, True))

    def _remarks(self, task: Task, acts: Sequence[FieldAct], standing: Standing) -> None:
        gone = self._gone(acts)
        is_over = task.work_order.visit.state == Visit.State.FINISHED
        for act in acts:
            flags = set(standing.flags) if str(act.uid) not in gone else set()
            if is_over and act.pk in self.fresh:
                flags.add("after_finish")
            if is_over and str(act.uid) in gone and standing.lead is None:
                flags.add("no_undo")
            if flags and _remark(act, flags) and act.pk is not None:
                self.remarked.append(act)

    def _records(self, changed: Sequence[Task]) -> None:
        """Each answered job leaves the record of the answer that leads; records of other answers are taken back."""
        wanted = {}
        for task in changed:
            record = record_of_answer(task)
            if record is not None:
                record.entered_at = task.answered_at or self.on
                wanted[record.uid] = record
        references = [f"task:{task.pk}" for task in changed]
        Record.objects.filter(reference__in=references, is_withdrawn=False).exclude(uid__in=wanted).update(
            is_withdrawn=True
        )
        Record.objects.bulk_create(wanted.values(), ignore_conflicts=True)
        Record.objects.filter(uid__in=wanted, is_withdrawn=True).update(is_withdrawn=False)

    def _needs(self, changed: Sequence[Task]) -> None:
        by_state: dict[str, list[int]] = defaultdict(list)
        for task in changed:
            if task.need_id is not None:
                by_state[_need_state(task)].append(task.need_id)
        for state, needs in by_state.items():
            Need.objects.filter(pk__in=needs).exclude(state=state).update(state=state)


def _need_state(task: Task) -> str:
    if task.state == Task.State.DONE:
        return Need.State.DONE
    if task.state == Task.State.NOT_DONE and task.reason == Task.Reason.NOT_NEEDED:
        return Need.State.WITHDRAWN
    return Need.State.OPEN


def _answer(act: FieldAct) -> Answer:
    said: Mapping[str, object] = act.body.get("value") or {}
    number = said.get("value")
    return Answer(
        key=str(act.uid),
        state="done" if act.kind == Kind.DONE else "not_done",
        at=act.happened_at,
        by=act.author_id,
        reason=str(said.get("reason") or "") if act.kind == Kind.NOT_DONE else "",
        note=str(said.get("note") or ""),
        value=float(number) if isinstance(number, int | float) else None,
    )


def _apply(task: Task, standing: Standing) -> bool:
    lead = standing.lead
    before = [getattr(task, "answered_by_id" if name == "answered_by" else name) for name in CHANGING]
    task.state = standing.state
    task.reason = lead.reason if lead else ""
    task.note = standing.note if lead else ""
    task.value = lead.value if lead else None
    task.answered_at = lead.at if lead else None
    task.answered_by_id = lead.by if lead else None
    return before != [getattr(task, "answered_by_id" if name == "answered_by" else name) for name in CHANGING]


def _office_answer(task: Task, on: datetime) -> FieldAct:
    """An answer given on the office's pages, as an act beside the others."""
    assert task.answered_at is not None  # noqa: S101 - an answered task has its time
    uid = uuid.uuid5(OFFICE_ACTS, f"{task.pk}|{task.answered_at.isoformat()}")
    return FieldAct(
        uid=uid,
        kind=task.state,
        author_id=task.answered_by_id,
        visit_id=task.work_order.visit_id,
        task=task,
        tree_id=task.tree_id,
        body={"value": {"reason": task.reason, "note": task.note, "value": task.value}, "source": "office"},
        body_digest="",
        happened_at=task.answered_at,
        received_at=on,
        result=FieldAct.Result.ACCEPTED,
    )


def _office_undo(act: FieldAct, on: datetime) -> FieldAct:
    return FieldAct(
        uid=uuid.uuid5(OFFICE_ACTS, f"undo|{act.uid}"),
        kind=Kind.WITHDRAWS,
        author_id=act.author_id,
        visit_id=act.visit_id,
        task_id=act.task_id,
        body={"source": "office"},
        body_digest="",
        withdraws=act.uid,
        happened_at=on,
        received_at=on,
        result=FieldAct.Result.ACCEPTED,
    )
