"""Several measurements of one thing on one visit: both kept, their mean beside them, or the office is told."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from django.db.models import Count

from business import clock
from gardens.models import Record
from scheduling.merging import Measurement, StandingMeasure, merge_measurements
from scheduling.models import FieldAct

MEANS = uuid.UUID("b4f2c4f5-1d44-47f8-8f60-0d31c4a1f6a4")
"""The name space of the records that hold the mean of several measurements."""

Place = tuple[int, int, str, str]


def settle_measures(accepted: Sequence[FieldAct], on: datetime) -> None:
    """Look again at everything measured on the visits of these acts, where more than one person measured it."""
    kinds = {FieldAct.Kind.MEASURED, FieldAct.Kind.WITHDRAWS}
    visits = {act.visit_id for act in accepted if act.kind in kinds and act.visit_id}
    if not visits:
        return
    measured = FieldAct.objects.filter(
        visit__in=visits, kind=FieldAct.Kind.MEASURED, result=FieldAct.Result.ACCEPTED, tree__isnull=False
    )
    # Most gardens are measured by one person; nothing is fetched for those.
    people = measured.order_by().values("visit").annotate(people=Count("author", distinct=True)).filter(people__gt=1)
    shared_visits = [row["visit"] for row in people]
    if not shared_visits:
        return
    acts = measured.filter(visit__in=shared_visits).select_related("tree", "visit__site")
    standing = set(
        Record.objects.filter(uid__in=[act.uid for act in acts], is_withdrawn=False).values_list("uid", flat=True)
    )
    groups: dict[Place, list[FieldAct]] = defaultdict(list)
    for act in acts:
        groups[_place(act)].append(act)
    shared = {place: found for place, found in groups.items() if len({act.author_id for act in found}) > 1}
    if shared:
        _write_means(shared, standing, on)


def _place(act: FieldAct) -> Place:
    said = act.body.get("value") or {}
    return act.visit_id or 0, act.tree_id or 0, str(said.get("what")), str(said.get("limb") or "whole")


def _write_means(shared: dict[Place, list[FieldAct]], standing: set[uuid.UUID], on: datetime) -> None:
    wanted: dict[uuid.UUID, Record] = {}
    remarked = []
    references = []
    for place, acts in shared.items():
        counted = [act for act in acts if act.uid in standing]
        references.append(_reference(place))
        merged = merge_measurements(
            Measurement(key=str(act.uid), value=float(act.body["value"]["value"]), at=act.happened_at, by=act.author_id)
            for act in counted
        )
        if merged is None or len(merged.keys) < 2:
            continue
        if merged.is_far_apart:
            remarked += [act for act in counted if "far_apart" not in act.flags]
        else:
            record = _mean(place, counted, merged, on)
            wanted[record.uid] = record
    for act in remarked:
        act.flags = sorted({*act.flags, "far_apart"})
        act.is_open = act.closed_at is None
    FieldAct.objects.bulk_update(remarked, ["flags", "is_open"])
    Record.objects.filter(reference__in=references).exclude(uid__in=wanted).update(is_withdrawn=True)
    Record.objects.bulk_create(wanted.values(), ignore_conflicts=True)
    Record.objects.filter(uid__in=wanted, is_withdrawn=True).update(is_withdrawn=False)


def _reference(place: Place) -> str:
    return f"mean:{uuid.uuid5(MEANS, '|'.join(map(str, place)))}"


def _mean(place: Place, acts: Sequence[FieldAct], merged: StandingMeasure, on: datetime) -> Record:
    last = max(acts, key=lambda act: (act.happened_at, str(act.uid)))
    assert last.visit is not None  # noqa: S101 - an accepted act has its visit
    return Record(
        uid=uuid.uuid5(MEANS, "|".join(sorted(merged.keys))),
        tree=last.tree,
        on=clock.today(last.visit.site.zone, at=last.happened_at),
        kind=Record.Kind.MEASURED,
        what=place[2],
        limb=place[3],
        value=merged.value,
        text=f"mean of {len(merged.keys)} measurements",
        source=Record.Source.PHONE,
        reference=_reference(place),
        # Behind the last of them on the same day, so that it is the one the tree is reckoned with.
        entered_at=max(last.happened_at, last.received_at, on),
    )
