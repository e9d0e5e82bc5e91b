"""The evening before: the round, what the weather must be, and what to load."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from business.queries.messages import message_by_key
from business.services.messages import queue_message
from scheduling.documents.loads import loads_of
from scheduling.models import ReminderRule, Round, Visit
from scheduling.queries.reminders import TOLD, crew_mail_addresses, rounds_near
from scheduling.queries.visits import visits_of_round, with_tasks
from scheduling.services.reminder_times import days_until, hours_of, is_hour, start_of
from scheduling.services.visit_words import weather_words


def before_rounds(rule: ReminderRule, now: datetime) -> int:
    written = 0
    for found in rounds_near(now.date(), rule.days):
        zone = ZoneInfo(found.crew.time_zone)
        if is_hour(rule, now, zone) and 1 <= days_until(found.on, now, zone) <= rule.days:
            written += _remind(rule, found)
    return written


def _remind(rule: ReminderRule, found: Round) -> int:
    people = [
        (person, key)
        for person in crew_mail_addresses(found.crew_id)
        if not message_by_key(key := f"crew_evening:round:{found.pk}:{found.on}:{person.pk}")
    ]
    if not people:
        return 0
    visits = list(with_tasks(visits_of_round(found).filter(state__in=TOLD)))
    body, zone = _body(found, visits), ZoneInfo(found.crew.time_zone)
    for person, key in people:
        queue_message(
            key=key,
            kind=ReminderRule.Kind.CREW,
            to=person.email,
            subject=f"{found.on:%A %-d %B}: {len(visits)} stop{'s' if len(visits) != 1 else ''}",
            body=body,
            hours=hours_of(rule, zone),
            not_after=start_of(found.on, found.leaves_at, zone),
        )
    return len(people)


def _body(found: Round, visits: Sequence[Visit]) -> str:
    """Names, times and loads. Gate codes and phone numbers stay on the crew's page, where they end with the day."""
    start = (
        f", leaving at {found.leaves_at:%H:%M}, back about {found.back_at:%H:%M}"
        if found.leaves_at and found.back_at
        else ""
    )
    parts = [f"{found.crew.name}, {found.on:%A %-d %B}{start}:"]
    parts.append("\n".join(_stop(number, visit) for number, visit in enumerate(visits, start=1)))
    rules = sorted({rule for visit in visits for rules in visit.weather_rules for rule in rules.split()})
    if rules:
        parts.append("Look at the weather first:\n" + "\n".join(f"- {weather_words(rule)}" for rule in rules))
    if loads := loads_of(visits):
        goods = "\n".join(f"- {load.name}: {load.quantity:g} {load.unit}".rstrip() for load in loads)
        parts.append(f"Load the van:\n{goods}")
    parts.append("The jobs, drawings and cautions are on your page.")
    return "\n\n".join(parts) + "\n"


def _stop(number: int, visit: Visit) -> str:
    at = f"{visit.arrives_at:%H:%M} " if visit.arrives_at else ""
    place = ", ".join([visit.site.name, *visit.site.address.splitlines()])
    return f"{number}. {at}{place} ({visit.minutes} min of work)"
