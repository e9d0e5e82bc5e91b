"""Mail on its way out."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from business.models import Message

LEASE = timedelta(minutes=10)
"""How long a worker may hold a message before it counts as lost. Longer than a mail server may take to answer."""

NEEDS_SOMEBODY = (Message.State.NOT_SURE, Message.State.REFUSED)


def message_by_key(key: str) -> Message | None:
    return Message.objects.filter(key=key).first()


def message_by_id(message_id: int) -> Message:
    return Message.objects.select_related("client").get(pk=message_id)


def due_messages(*, at: datetime) -> QuerySet[Message]:
    """Waiting, unclaimed, and their time has come."""
    due = Q(next_try=None) | Q(next_try__lte=at)
    allowed = Q(not_before=None) | Q(not_before__lte=at)
    return Message.objects.filter(due, allowed, state=Message.State.WAITING, claimed_at=None).order_by("pk")


def lost_messages(*, at: datetime) -> QuerySet[Message]:
    """Claimed by a worker that never came back to say what became of them."""
    return Message.objects.filter(state=Message.State.WAITING, claimed_at__lt=at - LEASE).order_by("pk")


def messages_for_list(messages: QuerySet[Message]) -> QuerySet[Message]:
    return messages.select_related("client").prefetch_related("documents").order_by("-created_at", "-pk")


def messages_needing_somebody() -> QuerySet[Message]:
    """Refused, or gone perhaps: a person decides."""
    return Message.objects.filter(state__in=NEEDS_SOMEBODY).order_by("-created_at")
