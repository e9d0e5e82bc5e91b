"""Acts that write down facts: measured, seen, notes about a tree, photos, and work on jobs that are gone."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Sequence
from datetime import datetime

from business import clock
from business.errors import Fault
from gardens.models import Photo, Record, Tree
from gardens.services.records import Fact, faults_of
from scheduling.models import FieldAct, Need, Visit
from scheduling.services.field_reading import FACTS, SaidAct

Kind = FieldAct.Kind


def faults_of_act(one: SaidAct, tree: Tree | None, visit: Visit, received_at: datetime) -> list[Fault]:
    """What is wrong with the fact an act states, as the gardens room judges it."""
    if one.kind not in FACTS or tree is None:
        return []
    return faults_of(tree, _fact(one.kind, one.value, clock.today(visit.site.zone, at=min(one.at, received_at))))


def _fact(kind: str, value: object, on: object) -> Fact:
    said = value if isinstance(value, dict) else {}
    number = said.get("value")
    return Fact(
        on=on,  # type: ignore[arg-type] # a date
        kind="measured" if kind == Kind.MEASURED else "seen",
        what="note" if kind == Kind.NOTE else str(said.get("what", "")),
        limb=str(said.get("limb") or "whole")[:60],
        value=float(number) if isinstance(number, int | float) else None,
        text=str(said.get("text") or ""),
    )


def write_facts(fresh: Sequence[FieldAct], withdrawn: Collection[uuid.UUID]) -> None:
    """One record per fact and one photo row per photo; the act's own identity is the row's, so once is once."""
    records, photos = [], []
    for act in fresh:
        if act.kind in FACTS and act.tree is not None:
            records.append(_record(act, act.uid in withdrawn))
        elif act.kind == Kind.DONE and act.task_id is None and act.tree is not None:
            records.append(_unplanned(act, act.uid in withdrawn))
        elif act.kind == Kind.PHOTO:
            photos.append(_photo(act, act.uid in withdrawn))
    if records:
        Record.objects.bulk_create(records, ignore_conflicts=True)
    if photos:
        Photo.objects.bulk_create(photos, ignore_conflicts=True)
    _settle_gone(fresh)


def withdraw_facts(uids: Collection[uuid.UUID]) -> None:
    """Take back the records and photos that these acts left."""
    if uids:
        Record.objects.filter(uid__in=uids).update(is_withdrawn=True)
        Photo.objects.filter(uid__in=uids).update(is_withdrawn=True)


def _day(act: FieldAct) -> object:
    assert act.visit is not None  # noqa: S101 - an accepted act has its visit
    return clock.today(act.visit.site.zone, at=act.happened_at)


def _record(act: FieldAct, is_withdrawn: bool) -> Record:
    fact = _fact(act.kind, act.body.get("value"), _day(act))
    return _stored(act, fact, is_withdrawn)


def _unplanned(act: FieldAct, is_withdrawn: bool) -> Record:
    """Work on a job the office had taken off meanwhile: the cut is on the tree all the same."""
    job, said = act.body.get("job") or {}, act.body.get("value") or {}
    number = said.get("value", job.get("to_angle_deg") or job.get("at_mm"))
    fact = Fact(
        on=_day(act),  # type: ignore[arg-type] # a date
        kind="done",
        what=str(job.get("kind") or "inspect")[:40],
        limb=str(job.get("limb") or "whole")[:60],
        value=float(number) if isinstance(number, int | float) else None,
        text=str(said.get("note") or ""),
    )
    return _stored(act, fact, is_withdrawn)


def _stored(act: FieldAct, fact: Fact, is_withdrawn: bool) -> Record:
    return Record(
        uid=act.uid,
        tree=act.tree,
        on=fact.on,
        kind=fact.kind,
        what=fact.what,
        limb=fact.limb,
        value=fact.value,
        text=fact.text,
        made_by=act.author,
        source=Record.Source.PHONE,
        reference=f"visit:{act.visit_id}",
        is_withdrawn=is_withdrawn,
        entered_at=act.happened_at,
    )


def _photo(act: FieldAct, is_withdrawn: bool) -> Photo:
    assert act.visit is not None  # noqa: S101 - an accepted act has its visit
    said = act.body.get("value") or {}
    pair = said.get("pair")
    return Photo(
        uid=act.uid,
        site_id=act.visit.site_id,
        tree=act.tree,
        digest=said["digest"],
        pair=pair if pair in Photo.Pair.values else "",
        words=str(said.get("words") or "")[:200],
        taken_at=act.happened_at,
        made_by=act.author,
        reference=f"visit:{act.visit_id}",
        is_withdrawn=is_withdrawn,
    )


def _settle_gone(fresh: Sequence[FieldAct]) -> None:
    """The needs behind jobs that are gone from the sheet but were done: a cut is never planned twice."""
    by_site: dict[int, set[int]] = {}
    for act in fresh:
        need = (act.body.get("job") or {}).get("need")
        if act.kind == Kind.DONE and act.task_id is None and act.visit is not None and isinstance(need, int):
            by_site.setdefault(act.visit.site_id, set()).add(need)
    for site_id, needs in by_site.items():
        Need.objects.filter(pk__in=needs, site=site_id, state=Need.State.OPEN).update(state=Need.State.DONE)
