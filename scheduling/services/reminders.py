"""Reminders of tomorrow's visits. Each is one message with a key of its own, so that running twice sends once."""

from __future__ import annotations

from datetime import datetime, timedelta

from business import clock
from business.queries.profile import our_profile
from business.services.messages import queue_message
from scheduling.models import Visit

KIND = "reminder"
TOLD = (Visit.State.PLANNED, Visit.State.CONFIRMED)
FROM_HOUR = 8
"""No reminder is written before eight in the morning at the garden."""


def write_reminders(*, at: datetime | None = None) -> int:
    """Queue a mail for every visit that is tomorrow at its garden; how many were new comes back."""
    now = at or clock.now()
    written = 0
    # Tomorrow lies within two calendar days of the present UTC day wherever the garden is.
    nearby = Visit.objects.filter(
        state__in=TOLD, on__range=(now.date(), now.date() + timedelta(days=2))
    ).select_related("site__client", "round__crew")
    for visit in nearby:
        local = now.astimezone(visit.site.zone)
        if visit.on == local.date() + timedelta(days=1) and local.hour >= FROM_HOUR:
            written += _remind(visit)
    return written


def _remind(visit: Visit) -> int:
    client = visit.site.client
    if not client.email or KIND in client.stopped_kinds or visit.on is None:
        return 0
    profile = our_profile()
    # The day is part of the key: a visit that is moved is told again, the same day never twice.
    key = f"reminder:visit:{visit.pk}:{visit.on}"
    before = clock.now()
    message = queue_message(
        key=key,
        kind=KIND,
        client=client,
        to=client.email,
        subject=f"We come to {visit.site.name} tomorrow, {visit.on:%-d %B}",
        body=_body(visit, profile.name, profile.phone),
        may_repeat=False,
    )
    return int(message.created_at >= before)


def _body(visit: Visit, name: str, phone: str) -> str:
    assert visit.on is not None  # noqa: S101 - asked for by the caller
    crew = visit.round.crew.name if visit.round else "our crew"
    ring = f" If the day does not suit, please ring {phone}." if phone else ""
    return (
        f"{visit.site.client.salutation},\n\n"
        f"tomorrow, {visit.on:%A %-d %B}, {crew} comes to {visit.site.name}, {_when(visit)}.\n\n"
        f"Please leave the gate open or the key in its place, and keep dogs in the house while we work.{ring}\n\n"
        f"{name}\n"
    )


def _when(visit: Visit) -> str:
    """Rough on purpose: a round can slip by an hour."""
    if visit.arrives_at is None:
        return "some time in the day"
    if visit.arrives_at.hour < 12:
        return "in the morning"
    return "in the early afternoon" if visit.arrives_at.hour < 14 else "in the afternoon"
