"""Phones that say hello: who has them, what they still hold, and whether one lost its store."""

from __future__ import annotations

import uuid

from django.db.models import QuerySet

from business import clock
from business.models import Staff
from scheduling.models import FieldAct, Phone


def meet_phone(*, uid: uuid.UUID, staff: Staff, lost: uuid.UUID | None = None) -> Phone:
    """The row of a phone, made at its first hello.

    Args:
        lost: the identity this browser had before, if it comes back with an empty store.
    """
    now = clock.now()
    phone, _ = Phone.objects.get_or_create(
        uid=uid, defaults={"staff": staff, "first_seen_at": now, "last_seen_at": now}
    )
    if lost is not None and lost != uid:
        Phone.objects.filter(uid=lost, staff=staff, lost_at=None).update(lost_at=now)
    return phone


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
