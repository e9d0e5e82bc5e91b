"""Take in what a phone sends: each act counts exactly once, however often, late or out of order it comes.

One transaction per batch. The phone's row is the gate: two requests from one phone follow each other. An act is stored
as it was said; jobs, records and visits are then reckoned anew from all acts about them (see field_settle), so the
order of arrival cannot matter.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from business import clock
from business.errors import BadInput, Fault
from business.models import Staff
from gardens.models import Tree
from scheduling.merging import contiguous, moment_of
from scheduling.models import FieldAct, HandedOut, Phone, Task, Visit
from scheduling.queries.access import visits_open_to
from scheduling.services.field_facts import faults_of_act
from scheduling.services.field_reading import ANSWERS, SaidAct, Unreadable, read_act
from scheduling.services.field_settle import settle
from scheduling.services.field_words import is_for_the_office

MOST_ACTS = 1000
PROBLEMS = "urn:field-problem:"


@dataclass(frozen=True, kw_only=True)
class Batch:
    """What one request of a phone carries. ``waiting`` is what the phone still holds after it."""

    phone: uuid.UUID
    acts: Sequence[Any]
    waiting: int = 0
    photos_waiting: int = 0
    oldest_waiting_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """The answer to one act: accepted, already_had or refused, and why."""

    id: str
    result: str
    problem: Mapping[str, Any] = field(default_factory=dict)
    flags: Sequence[str] = ()


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """The answer to a batch."""

    receipts: Sequence[Receipt]
    known_seq: int


def take_batch(*, batch: Batch, by: Staff, received_at: datetime | None = None) -> Outcome:
    """Store the acts of a batch and reckon what follows from them; every act gets a receipt of its own.

    Raises:
        BadInput: the batch is too long to be taken at once.
    """
    if len(batch.acts) > MOST_ACTS:
        raise BadInput([Fault("acts", f"are {len(batch.acts)}", f"send {MOST_ACTS} at a time or fewer")])
    said = [read_act(raw) for raw in batch.acts]
    with transaction.atomic():
        received = received_at or clock.now()
        phone = _locked_phone(batch, by, received)
        intake = _Intake(phone=phone, by=by, received_at=received)
        receipts = intake.take(said)
        phone.known_seq = contiguous(
            phone.known_seq, FieldAct.objects.filter(phone=phone, seq__gt=phone.known_seq).values_list("seq", flat=True)
        )
        phone.save(update_fields=["known_seq"])
        settle(fresh=intake.fresh, phone=phone, on=received)
    return Outcome(receipts=receipts, known_seq=phone.known_seq)


def _locked_phone(batch: Batch, by: Staff, received_at: datetime) -> Phone:
    Phone.objects.get_or_create(
        uid=batch.phone, defaults={"staff": by, "first_seen_at": received_at, "last_seen_at": received_at}
    )
    phone = Phone.objects.select_for_update().get(uid=batch.phone)
    phone.staff = by
    phone.last_seen_at = received_at
    phone.waiting = max(0, batch.waiting)
    phone.photos_waiting = max(0, batch.photos_waiting)
    phone.oldest_waiting_at = batch.oldest_waiting_at
    phone.save(update_fields=["staff", "last_seen_at", "waiting", "photos_waiting", "oldest_waiting_at"])
    return phone


class _Intake:
    """One batch on its way into the table."""

    def __init__(self, *, phone: Phone, by: Staff, received_at: datetime) -> None:
        self.phone = phone
        self.by = by
        self.received_at = received_at
        self.fresh: list[FieldAct] = []

    def take(self, said: Sequence[SaidAct | Unreadable]) -> list[Receipt]:
        kept = {act.uid: act for act in FieldAct.objects.filter(uid__in=[one.uid for one in said if one.uid])}
        self._look_up([one for one in said if isinstance(one, SaidAct) and one.uid not in kept])
        receipts = []
        for one in said:
            if one.uid is None:
                receipts.append(Receipt(id=str(one.body.get("id", "")), result="refused", problem=_problem(one.faults)))
            elif one.uid in kept:
                receipts.append(self._again(kept[one.uid], one))
            else:
                row = self._row(one)
                kept[one.uid] = row
                self.fresh.append(row)
                receipts.append(Receipt(id=str(one.uid), result=row.result, problem=row.problem, flags=row.flags))
        FieldAct.objects.bulk_create(self.fresh)
        repaired = [row.repairs for row in self.fresh if row.repairs and row.result == FieldAct.Result.ACCEPTED]
        if repaired:
            FieldAct.objects.filter(uid__in=repaired, author=self.by, result=FieldAct.Result.REFUSED).update(
                is_open=False, closed_at=self.received_at, closed_by=self.by
            )
        return receipts

    def _look_up(self, acts: Sequence[SaidAct]) -> None:
        """Everything the acts name, in a fixed number of queries. Visits are locked first, then tasks."""
        visit_ids = {act.visit for act in acts}
        locked = Visit.objects.select_for_update(of=("self",)).filter(pk__in=visit_ids).order_by("pk")
        self.visits = {visit.pk: visit for visit in locked.select_related("site")}
        self.open_now = set(visits_open_to(self.by).filter(pk__in=visit_ids).values_list("pk", flat=True))
        self.handed = set(
            HandedOut.objects.filter(phone=self.phone, visit__in=visit_ids).values_list("staff_id", "visit_id")
        )
        people = {act.person for act in acts} - {self.by.pk}
        self.people = {self.by.pk: self.by, **(Staff.objects.in_bulk(people) if people else {})}
        task_ids = {act.task for act in acts if act.task}
        tasks = Task.objects.select_for_update(of=("self",)).filter(pk__in=task_ids).order_by("pk")
        self.tasks = {task.pk: task for task in tasks.select_related("work_order")}
        tree_ids = {act.tree or act.job.get("tree") for act in acts}
        whole = [number for number in tree_ids if isinstance(number, int)]
        self.trees = Tree.objects.select_related("site").in_bulk(whole)

    def _again(self, row: FieldAct, one: SaidAct | Unreadable) -> Receipt:
        if row.body_digest != one.digest or (row.phone_id not in (None, self.phone.pk)):
            fault = Fault("id", "was used for another act", "give the act a fresh identity and send it again")
            return Receipt(id=str(row.uid), result="refused", problem=_problem((fault,), kind="id-used"))
        result = "refused" if row.result == FieldAct.Result.REFUSED else "already_had"
        return Receipt(id=str(row.uid), result=result, problem=row.problem, flags=row.flags)

    def _row(self, one: SaidAct | Unreadable) -> FieldAct:
        if isinstance(one, Unreadable):
            return self._refused(
                one, one.faults, FieldAct(uid=one.uid or uuid.uuid4(), seq=one.seq, happened_at=self.received_at)
            )
        moment = moment_of(one.at, received_at=self.received_at, offset_s=one.offset_s, pack_at=one.pack_at)
        row = FieldAct(
            uid=one.uid,
            seq=one.seq,
            kind=one.kind,
            device_time=one.at,
            happened_at=moment.at,
            withdraws=one.withdraws,
            repairs=one.repairs,
        )
        faults = self._faults(one)
        if faults:
            return self._refused(one, faults, row)
        author = self.people[one.person]
        row.author = author
        row.brought_by = self.by if author.pk != self.by.pk else None
        row.visit = self.visits[one.visit]
        row.task = self.tasks.get(one.task or 0)
        row.tree = self.trees.get(self._tree_id(one) or 0)
        row.result = FieldAct.Result.ACCEPTED
        row.flags = sorted(moment.flags | self._flags(one, author))
        row.is_open = is_for_the_office(row.flags)
        return self._filled(row, one)

    def _refused(self, one: SaidAct | Unreadable, faults: Sequence[Fault], row: FieldAct) -> FieldAct:
        row.result = FieldAct.Result.REFUSED
        row.problem = _problem(faults)
        row.author = self.by
        row.is_open = True
        return self._filled(row, one)

    def _filled(self, row: FieldAct, one: SaidAct | Unreadable) -> FieldAct:
        row.phone = self.phone
        row.body, row.body_digest = one.body, one.digest
        row.received_at = self.received_at
        return row

    def _tree_id(self, one: SaidAct) -> int | None:
        if one.tree:
            return one.tree
        task = self.tasks.get(one.task or 0)
        tree_id = task.tree_id if task else one.job.get("tree")
        return tree_id if isinstance(tree_id, int) else None

    def _faults(self, one: SaidAct) -> list[Fault]:
        """Why the act cannot be taken at all."""
        visit = self.visits.get(one.visit)
        mine = one.visit in self.open_now and one.person == self.by.pk
        if visit is None or one.person not in self.people or not (mine or (one.person, one.visit) in self.handed):
            return [Fault("visit", "is not one this person had on this phone", "ring the office")]
        tree_id = self._tree_id(one)
        tree = self.trees.get(tree_id or 0)
        is_named = one.tree is not None or (one.task is not None and one.task not in self.tasks)
        is_elsewhere = tree_id is not None and (tree is None or tree.site_id != visit.site_id)
        if is_named and is_elsewhere:
            return [Fault("tree", "does not stand in this garden", "choose a tree of this stop")]
        task = self.tasks.get(one.task or 0)
        if task is not None and task.work_order.visit_id != visit.pk:
            return [Fault("task", "belongs to another visit", "answer it on its own visit")]
        return faults_of_act(one, tree, visit, self.received_at)

    def _flags(self, one: SaidAct, author: Staff) -> set[str]:
        visit = self.visits[one.visit]
        flags = set()
        if author.pk != self.by.pk:
            flags.add("brought")
        if not author.is_active:
            flags.add("account_closed")
        if author.pk == self.by.pk and visit.pk not in self.open_now and visit.state != Visit.State.CALLED_OFF:
            flags.add("moved_away")
        if one.kind in ANSWERS and visit.state == Visit.State.CALLED_OFF:
            flags.add("after_call_off")
        if one.kind in ANSWERS and one.task not in self.tasks:
            flags.add("job_gone")
        if one.kind == FieldAct.Kind.EXTRA:
            flags.add("extra_work")
        return flags


def _problem(faults: Sequence[Fault], *, kind: str = "bad-act") -> dict[str, Any]:
    """A problem as RFC 9457 words it, with our faults beside it."""
    return {
        "type": PROBLEMS + kind,
        "title": "The office computer could not take this",
        "status": 422,
        "detail": "; ".join(str(fault) for fault in faults),
        "errors": [{"pointer": f.where, "what": f.wrong, "right": f.remedy} for f in faults],
    }
