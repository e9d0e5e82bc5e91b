"""Tell a client that we come; and that we do not, once we said we would.

Each mail carries the visit as a calendar entry (RFC 5545) with METHOD PUBLISH: the same UID for ever, a SEQUENCE that
grows with every change, STATUS CANCELLED when it is called off. So the calendar moves it instead of showing it twice.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from business import clock
from business.errors import Refusal
from business.models import ArchivedDocument, Message
from business.queries.messages import message_by_key
from business.queries.profile import our_profile
from business.services.archive import Paper, archive
from business.services.client_links import GARDEN_MARK, STOP_MARK
from business.services.messages import queue_message, stop_message
from scheduling.documents.client_calendar import calendar_of
from scheduling.models import ReminderRule, Visit
from scheduling.queries.reminders import TOLD, reminders_sent_since, visits_near, visits_told
from scheduling.services.reminder_times import days_until, hours_of, is_hour, start_of
from scheduling.services.visit_words import part_of_day

CALENDAR_TYPE = "text/calendar; method=PUBLISH"
"""RFC 5545, section 8.1: the parameter names the METHOD of the file."""
LOOK_BACK = timedelta(days=70)
"""Longer than the longest notice."""


def before_visits(rule: ReminderRule, now: datetime) -> int:
    written = _tell_changes(rule, now)
    for visit in visits_near(now.date(), rule.days):
        zone = visit.site.zone
        if visit.on is None or not is_hour(rule, now, zone):
            continue
        ahead = days_until(visit.on, now, zone)
        if 1 <= ahead <= rule.days:
            written += _remind(rule, visit, ahead)
    return written


def _remind(rule: ReminderRule, visit: Visit, ahead: int) -> int:
    client = visit.site.client
    # The day is part of the key: a visit that is moved is told again, the same day never twice.
    key = f"reminder:visit:{visit.pk}:{visit.on}"
    if not client.email or ReminderRule.Kind.VISIT in client.stopped_kinds or message_by_key(key):
        return 0
    when = "tomorrow" if ahead == 1 else f"on {visit.on:%A}"
    queue_message(
        key=key,
        kind=ReminderRule.Kind.VISIT,
        client=client,
        to=client.email,
        subject=f"We come to {visit.site.name} {when}, {visit.on:%-d %B}",
        body=_body(visit, when),
        may_repeat=False,
        documents=[_calendar_entry(visit)],
        hours=hours_of(rule, visit.site.zone),
        not_after=start_of(visit.on, visit.arrives_at, visit.site.zone) if visit.on else None,
    )
    return 1


def _body(visit: Visit, when: str) -> str:
    profile = our_profile()
    crew = visit.round.crew.name if visit.round else "our crew"
    ring = f" or ring {profile.phone}" if profile.phone else ""
    return (
        f"{visit.site.client.salutation},\n\n"
        f"{when}, {visit.on:%A %-d %B}, {crew} comes to {visit.site.name}, {part_of_day(visit)}.\n\n"
        "Please leave the gate open or the key in its place, and keep dogs in the house while we work.\n\n"
        f"If the day does not suit, tell us on your garden's page{ring}:\n{GARDEN_MARK}\n\n"
        f"{profile.name}\n\n"
        f"No more mails of this kind: {STOP_MARK}\n"
    )


def _calendar_entry(visit: Visit) -> ArchivedDocument:
    client = visit.site.client
    paper = Paper(
        kind="calendar_entry",
        reference=f"visit:{visit.pk}",
        file_name="visit.ics",
        content=calendar_of(client, [visit], clock.now()),
        media_type=CALENDAR_TYPE,
    )
    return archive(paper, client=client)


def _tell_changes(rule: ReminderRule, now: datetime) -> int:
    """Visits a client was told of that are called off, or stand on another day now."""
    told = reminders_sent_since(now - LOOK_BACK)
    visits = visits_told([visit_id for visit_id, _, _ in told])
    written = 0
    for visit_id, day, message in told:
        visit = visits.get(visit_id)
        if visit is None or day < now.astimezone(visit.site.zone).date():
            continue
        if visit.on == day and visit.state != Visit.State.CALLED_OFF:
            continue
        if message.state == Message.State.WAITING:
            _stop(message)
        elif is_hour(rule, now, visit.site.zone):
            written += _tell_change(rule, visit, message)
    return written


def _stop(message: Message) -> None:
    try:
        stop_message(message=message, reason="The visit was moved or called off before this went.")
    except Refusal:
        # A worker is sending it at this moment; then the change is told next time.
        return


def _tell_change(rule: ReminderRule, visit: Visit, first: Message) -> int:
    key = first.key.replace("reminder:", "visit_changed:", 1)
    client = visit.site.client
    if not client.email or message_by_key(key):
        return 0
    profile = our_profile()
    is_off = visit.state == Visit.State.CALLED_OFF
    comes_again = not is_off and visit.on is not None and visit.state in TOLD
    then = (
        f"We come on {visit.on:%A %-d %B} instead, {part_of_day(visit)}."
        if comes_again
        else "We tell you when we come."
    )
    ring = f" or ring {profile.phone}" if profile.phone else ""
    queue_message(
        key=key,
        kind="visit_changed",
        client=client,
        to=client.email,
        subject=f"{'Called off' if is_off else 'Moved'}: our visit to {visit.site.name}",
        body=(
            f"{client.salutation},\n\nwe wrote “{first.subject}”. That visit is "
            f"{'called off' if is_off else 'moved'}{f': {visit.reason}' if is_off else ''}. {then}\n\n"
            f"Your garden's page shows what holds now{ring}:\n{GARDEN_MARK}\n\n{profile.name}\n"
        ),
        documents=[_calendar_entry(visit)] if visit.on is not None else [],
        hours=hours_of(rule, visit.site.zone),
    )
    return 1
