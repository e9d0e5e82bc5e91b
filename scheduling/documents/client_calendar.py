"""A client's visits as a calendar to subscribe to (RFC 5545, RFC 7986)."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from icalendar import Calendar, Event

from business.models import Client
from business.queries.profile import our_profile
from scheduling.models import Visit

STATUS = {
    Visit.State.PLANNED: "TENTATIVE",
    Visit.State.CONFIRMED: "CONFIRMED",
    Visit.State.STARTED: "CONFIRMED",
    Visit.State.FINISHED: "CONFIRMED",
    Visit.State.CALLED_OFF: "CANCELLED",
}
READ_AGAIN = timedelta(hours=12)


def calendar_of(client: Client, visits: Sequence[Visit], made_at: datetime) -> bytes:
    """The feed. Days only: we promise a part of the day, and a day stays the same day in every reader's zone.

    A visit keeps its UID for ever and carries its revision as SEQUENCE, so that a reader moves it instead of showing
    it twice; one that is called off stays, as cancelled. No gate codes, no notes.
    """
    profile = our_profile()
    feed = Calendar()
    feed.add("prodid", "-//Trained fruit//Visits//EN")
    feed.add("version", "2.0")
    feed.add("calscale", "GREGORIAN")
    feed.add("method", "PUBLISH")
    feed.add("name", f"Garden visits, {profile.name}")
    feed.add("refresh-interval", READ_AGAIN, parameters={"VALUE": "DURATION"})
    for visit in visits:
        feed.add_component(_event(visit, profile.name, made_at))
    return bytes(feed.to_ical())


def version_of_calendar(client: Client, visits: Sequence[Visit]) -> str:
    """Changes with anything the feed shows, and only then."""
    rows = [
        (
            visit.pk,
            visit.revision,
            visit.state,
            str(visit.on),
            str(visit.arrives_at),
            visit.site.name,
            visit.site.address,
        )
        for visit in visits
    ]
    return hashlib.sha256(repr((client.pk, our_profile().name, rows)).encode()).hexdigest()[:32]


def _event(visit: Visit, us: str, made_at: datetime) -> Event:
    assert visit.on is not None  # noqa: S101 - the query gives visits with a day
    event = Event()
    event.add("uid", f"visit-{visit.pk}@{urlsplit(settings.SITE_ADDRESS).hostname or 'localhost'}")
    # The start of the day of making: without a change two readings are the same bytes.
    event.add("dtstamp", datetime.combine(made_at.astimezone(UTC).date(), time(), UTC))
    event.add("sequence", visit.revision)
    event.add("dtstart", visit.on)
    event.add("dtend", visit.on + timedelta(days=1))
    event.add("summary", _summary(visit, us))
    event.add("location", ", ".join([visit.site.name, *visit.site.address.splitlines()]))
    event.add("status", STATUS[Visit.State(visit.state)])
    event.add("transp", "TRANSPARENT")
    event.add("url", f"{settings.SITE_ADDRESS}/garden/")
    return event


def _summary(visit: Visit, us: str) -> str:
    if visit.state == Visit.State.CALLED_OFF:
        return f"Called off: {us} at {visit.site.name}"
    if visit.arrives_at is None:
        return f"{us} at {visit.site.name}"
    return f"{us} at {visit.site.name}, {'morning' if visit.arrives_at.hour < 12 else 'afternoon'}"
