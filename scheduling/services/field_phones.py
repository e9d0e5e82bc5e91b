"""Phones that say hello: who has them, what they still hold, and whether one lost its store."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from business import clock
from business.models import Staff
from scheduling.models import FieldAct, Phone, Task
from scheduling.services.field_words import words_of


def meet_phone(*, uid: uuid.UUID, staff: Staff) -> Phone:
    """The row of a phone, made at its first hello."""
    now = clock.now()
    phone, _ = Phone.objects.get_or_create(
        uid=uid, defaults={"staff": staff, "first_seen_at": now, "last_seen_at": now}
    )
    return phone


def mark_lost(*, uid: uuid.UUID, staff: Staff) -> bool:
    """A browser that was this phone comes back with an empty store; tells whether unsent work went with it."""
    gone = Phone.objects.filter(uid=uid, staff=staff, lost_at=None)
    held = gone.filter(Q(waiting__gt=0) | Q(photos_waiting__gt=0)).exists()
    gone.update(lost_at=clock.now())
    return held


def hear_hello(*, phone: Phone, staff: Staff, waiting: int, photos_waiting: int) -> None:
    """Keep what the phone says it still holds."""
    Phone.objects.filter(pk=phone.pk).update(
        staff=staff, waiting=waiting, photos_waiting=photos_waiting, last_seen_at=clock.now()
    )


def phones_with_news() -> QuerySet[Phone]:
    """Phones that hold unsent acts, or came back empty although they held some."""
    holding = Phone.objects.select_related("staff").filter(waiting__gt=0)
    return holding.order_by("last_seen_at")


def acts_for_the_office() -> QuerySet[FieldAct]:
    """What somebody in the office has to settle."""
    return (
        FieldAct.objects.filter(is_open=True)
        .select_related("author", "visit__site", "task", "tree", "brought_by")
        .order_by("received_at", "pk")
    )


def close_act(*, act: FieldAct, by: Staff) -> FieldAct:
    """The office has seen to it; what was said stays as it was said."""
    act.is_open = False
    act.closed_at = clock.now()
    act.closed_by = by
    act.save(update_fields=["is_open", "closed_at", "closed_by"])
    return act


@dataclass(frozen=True, kw_only=True)
class FieldRow:
    """An act in words, for the office's pages."""

    act: FieldAct
    words: str
    detail: str
    flags: list[str]


def field_rows(acts: Iterable[FieldAct]) -> list[FieldRow]:
    return [
        FieldRow(
            act=act,
            words=act.kind.replace("_", " ").capitalize() or "Unreadable",
            detail=_detail(act),
            flags=words_of(act.flags),
        )
        for act in acts
    ]


def said_on_visit(visit_id: int) -> QuerySet[FieldAct]:
    """What was said on a visit beside the answers to its jobs."""
    kinds = [
        FieldAct.Kind.NOTE,
        FieldAct.Kind.MATERIAL,
        FieldAct.Kind.EXTRA,
        FieldAct.Kind.SIGNED,
        FieldAct.Kind.NOBODY_HOME,
        FieldAct.Kind.STARTED,
        FieldAct.Kind.FINISHED,
    ]
    accepted = FieldAct.objects.filter(visit=visit_id, kind__in=kinds, result=FieldAct.Result.ACCEPTED)
    gone = FieldAct.objects.filter(visit=visit_id, withdraws__isnull=False).values("withdraws")
    return accepted.exclude(uid__in=gone).select_related("author", "visit__site", "tree", "brought_by")


def _detail(act: FieldAct) -> str:
    said = act.body.get("value") if isinstance(act.body, dict) else None
    if not isinstance(said, dict):
        return ""
    quantity = f"{said['quantity']:g} {said.get('unit') or ''}".strip() if _is_number(said.get("quantity")) else ""
    minutes = f"{said['minutes']:g} min" if _is_number(said.get("minutes")) else ""
    reason = dict(Task.Reason.choices).get(str(said.get("reason")), said.get("reason"))
    measured = f"{said['value']:g}" if _is_number(said.get("value")) else ""
    words = [act.task.instruction if act.task else "", reason, said.get("name"), quantity, minutes]
    words += [said.get("what"), said.get("limb"), measured, said.get("text"), said.get("note")]
    return ", ".join(str(word) for word in words if word)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
