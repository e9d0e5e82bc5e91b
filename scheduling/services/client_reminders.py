"""Tell a client that we come."""

from __future__ import annotations

from datetime import datetime

from business.queries.messages import message_by_key
from business.queries.profile import our_profile
from business.services.client_links import GARDEN_MARK, STOP_MARK
from business.services.messages import queue_message
from scheduling.models import ReminderRule, Visit
from scheduling.queries.reminders import visits_near
from scheduling.services.reminder_times import days_until, hours_of, is_hour, start_of
from scheduling.services.visit_words import part_of_day


def before_visits(rule: ReminderRule, now: datetime) -> int:
    written = 0
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
