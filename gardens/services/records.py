"""Facts written down by people: added, corrected, withdrawn; never changed."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, timedelta
from typing import get_args

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import Staff
from business.services.audit import note
from gardens.climate.values import STAGES
from gardens.models import Record, Tree
from gardens.training.state import WORK_KINDS, MeasuredWhat, SeenWhat

WORDS: dict[str, tuple[str, ...]] = {
    "measured": get_args(MeasuredWhat),
    "seen": get_args(SeenWhat),
    "done": WORK_KINDS,
}
LONGEST_MM = 20_000


@dataclass(frozen=True, kw_only=True)
class Fact:
    """What somebody measured, saw or did. ``value`` in mm, degrees, a count or kg, by ``what``."""

    on: date
    kind: str
    what: str
    limb: str = "whole"
    value: float | None = None
    text: str = ""


@transaction.atomic
def write_record(
    *, tree: Tree, fact: Fact, by: Staff | None, source: str = Record.Source.OFFICE, uid: uuid.UUID | None = None
) -> Record:
    """Add a fact about a tree. The same ``uid`` again gives back the row it made.

    Raises:
        BadInput: with every fault of the fact.
    """
    if uid is not None and (kept := Record.objects.filter(uid=uid).first()):
        return kept
    _check(tree, fact)
    record = _store(tree, fact, by, source, uid or uuid.uuid4())
    note("record added", _thing(record), after=_told(record), by=by)
    return record


@transaction.atomic
def correct_record(*, record: Record, fact: Fact, by: Staff | None) -> Record:
    """Put another fact in the place of a wrong one; the wrong one stays readable.

    Raises:
        AlreadyDone: it was corrected or withdrawn before.
        BadInput: the new fact is wrong, or the record is about a support.
    """
    record = Record.objects.select_for_update().get(pk=record.pk)
    if record.tree is None:
        raise BadInput([Fault("record", "is about a support", "correct it on the support's page")])
    _must_stand(record)
    _check(record.tree, fact)
    fresh = _store(record.tree, fact, by, Record.Source.OFFICE, uuid.uuid4())
    fresh.corrects = record
    fresh.save(update_fields=["corrects"])
    note("record corrected", _thing(record), before=_told(record), after=_told(fresh), by=by)
    return fresh


@transaction.atomic
def withdraw_record(*, record: Record) -> Record:
    """Take a fact back without putting another in its place.

    Raises:
        AlreadyDone: it was corrected or withdrawn before.
    """
    record = Record.objects.select_for_update().get(pk=record.pk)
    _must_stand(record)
    record.is_withdrawn = True
    record.save(update_fields=["is_withdrawn"])
    note("record withdrawn", _thing(record), before=_told(record))
    return record


def _thing(record: Record) -> str:
    return f"tree:{record.tree_id}" if record.tree_id else f"support:{record.support_id}"


def _told(record: Record) -> dict[str, object]:
    """A record as a note of change tells it."""
    return {name: getattr(record, name) for name in ("on", "kind", "what", "limb", "value", "text")}


def _must_stand(record: Record) -> None:
    if record.is_withdrawn or Record.objects.filter(corrects=record).exists():
        raise AlreadyDone([Fault("record", "was corrected or withdrawn before", "look at the tree's records again")])


def faults_of(tree: Tree, fact: Fact) -> list[Fault]:
    """What is wrong with a fact about a tree; empty where it can be written down. The tree comes with its site."""
    faults = []
    today = clock.today(tree.site.zone)
    if fact.on > today + timedelta(days=1):
        faults.append(Fault("date", f"{fact.on} lies in the future", "records say what was, not what will be"))
    if fact.on < tree.planted_on:
        faults.append(Fault("date", f"{fact.on} is before the tree was planted", f"write {tree.planted_on} or later"))
    known = WORDS.get(fact.kind)
    if known is None:
        faults.append(Fault("kind", f"{fact.kind!r} is not known", "say measured, seen or done"))
    elif fact.what not in known:
        faults.append(Fault("what", f"{fact.what!r} is not known", f"use one of {', '.join(known)}"))
    if fact.kind == "measured" and fact.value is None:
        faults.append(Fault("value", "is empty", "write what was measured, such as 95 cm"))
    if fact.value is not None and not 0 <= fact.value + (90 if fact.what == "limb_angle" else 0) <= LONGEST_MM:
        faults.append(Fault("value", f"{fact.value:g} cannot be", "check the number and its unit"))
    if (fact.kind, fact.what) == ("seen", "stage") and fact.text not in STAGES:
        faults.append(Fault("text", f"{fact.text!r} is not a stage", f"use one of {', '.join(STAGES)}"))
    return faults


def _check(tree: Tree, fact: Fact) -> None:
    if faults := faults_of(tree, fact):
        raise BadInput(faults)


def _store(tree: Tree, fact: Fact, by: Staff | None, source: str, uid: uuid.UUID) -> Record:
    record = Record(
        uid=uid,
        tree=tree,
        on=fact.on,
        kind=fact.kind,
        what=fact.what,
        limb=fact.limb or "whole",
        value=fact.value,
        text=fact.text,
        made_by=by,
        source=source,
        entered_at=clock.now(),
    )
    record.full_clean(exclude=["made_by"])
    record.save()
    return record
