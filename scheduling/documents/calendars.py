"""A crew's visits as an iCalendar file (RFC 5545), for the calendar of a phone.

Calendars end up on other people's servers: gate codes, telephone numbers and hazards stay on the round sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse
from icalendar import Calendar, Event, vDuration, vUri

from business import clock
from business.queries.profile import our_profile
from scheduling.models import Crew, Visit
from scheduling.rounds import instant

REFRESH = timedelta(hours=1)
STATUS = {Visit.State.CALLED_OFF: "CANCELLED", Visit.State.PLANNED: "TENTATIVE"}


def crew_calendar(crew: Crew, visits: Sequence[Visit], *, made_at: datetime | None = None) -> bytes:
    """The visits of a crew, those called off among them; times in UTC."""
    profile = our_profile()
    calendar = Calendar()
    calendar.add("prodid", f"-//{profile.name}//Rounds//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", f"{profile.name}: {crew.name}")
    calendar.add("x-wr-calname", f"{profile.name}: {crew.name}")
    # RFC 7986: how often a calendar may ask again.
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    stamp = (made_at or clock.now()).astimezone(UTC).replace(microsecond=0)
    for visit in visits:
        if visit.on is not None:
            calendar.add_component(_event(visit, stamp))
    return bytes(calendar.to_ical())


def _event(visit: Visit, stamp: datetime) -> Event:
    event = Event()
    event.add("uid", f"visit-{visit.pk}@{urlsplit(settings.SITE_ADDRESS).hostname or 'localhost'}")
    event.add("dtstamp", stamp)
    event.add("sequence", visit.revision)
    event.add("summary", visit.site.name)
    event.add("status", STATUS.get(Visit.State(visit.state), "CONFIRMED"))
    if visit.site.address:
        event.add("location", ", ".join(visit.site.address.splitlines()))
    if visit.state != Visit.State.CALLED_OFF:
        address = f"{settings.SITE_ADDRESS}{reverse('visit', args=[visit.pk])}"
        event.add("url", vUri(address))
    starts, ends = _span(visit)
    event.add("dtstart", starts)
    event.add("dtend", ends)
    return event


def _span(visit: Visit) -> tuple[object, object]:
    """Instants in UTC; whole days where no hour is known. The end of a whole day is the day after (RFC 5545, 3.6.1)."""
    assert visit.on is not None  # noqa: S101 - asked for by the caller
    if visit.arrives_at is None or visit.leaves_at is None:
        return visit.on, visit.on + timedelta(days=1)
    starts, ends = (
        instant(visit.on, at.hour * 60 + at.minute, visit.site.zone).astimezone(UTC)
        for at in (visit.arrives_at, visit.leaves_at)
    )
    return starts, ends
