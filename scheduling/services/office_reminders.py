"""Once a week: what the office must decide. Silence means there is nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

from business.documents.words import money_text
from business.queries.messages import message_by_key
from business.queries.profile import our_profile
from business.services.messages import queue_message
from gardens.services.work_words import WORK_WORDS
from scheduling.models import Need, ReminderRule
from scheduling.queries import board
from scheduling.queries.reminders import (
    agreements_ending,
    late_invoices,
    licences_ending,
    office_mail_addresses,
    ties_due,
)
from scheduling.services.reminder_times import hours_of, week_to_tell

MOST_LINES = 40


def windows_closing(rule: ReminderRule, now: datetime) -> int:
    def lines(today: date) -> list[str]:
        return [_need_line(need) for need in board.windows_closing(today, days=rule.days)]

    return _tell(rule, now, "windows close without a visit", lines)


def unplaced_visits(rule: ReminderRule, now: datetime) -> int:
    def lines(today: date) -> list[str]:
        found = [(item.visit or item.need, item.why) for item in board.unplaced()]
        return [f"{row.site.name}: {why}" for row, why in found if row is not None]

    return _tell(rule, now, "found no place on a round", lines)


def ties_due_off(rule: ReminderRule, now: datetime) -> int:
    def lines(today: date) -> list[str]:
        return [_need_line(need) for need in ties_due(today, rule.days)]

    return _tell(rule, now, "ties must come off", lines)


def invoices_overdue(rule: ReminderRule, now: datetime) -> int:
    def lines(today: date) -> list[str]:
        return [
            f"{paper.number}, {paper.client.name}: {money_text(paper.open_amount, paper.currency)}, "
            f"{(today - paper.due_on).days} days late"
            for paper in late_invoices(today, rule.days)
            if paper.due_on
        ]

    return _tell(rule, now, "invoices are late", lines, must_see_prices=True)


def papers_ending(rule: ReminderRule, now: datetime) -> int:
    """Licences, certificates and insurances, and agreements that nothing follows."""

    def lines(today: date) -> list[str]:
        licences = [
            f"{'ended' if paper.valid_until < today else 'ends'} {paper.valid_until:%-d %B %Y}: {paper.name}, "
            f"{paper.staff.name if paper.staff else 'the business itself'}"
            for paper in licences_ending(today, rule.days)
        ]
        agreements = [
            f"ends {row.valid_until:%-d %B %Y}: agreement with {row.client.name}"
            for row in agreements_ending(today, rule.days)
            if row.valid_until
        ]
        return licences + agreements

    return _tell(rule, now, "licences and agreements end", lines)


def _tell(
    rule: ReminderRule,
    now: datetime,
    about: str,
    lines_on: Callable[[date], list[str]],
    *,
    must_see_prices: bool = False,
) -> int:
    """One mail a week to each of the office, in the business's own hours."""
    zone = our_profile().time_zone
    week = week_to_tell(rule, now, zone)
    people = list(office_mail_addresses(must_see_prices=must_see_prices)) if week else []
    fresh = [(person, f"{rule.kind}:{week}:{person.pk}") for person in people]
    fresh = [(person, key) for person, key in fresh if not message_by_key(key)]
    if not fresh:
        return 0
    lines = lines_on(now.astimezone(zone).date())
    if not lines:
        return 0
    more = f"\n… and {len(lines) - MOST_LINES} more" if len(lines) > MOST_LINES else ""
    body = "\n".join(f"- {line}" for line in lines[:MOST_LINES]) + more + "\n\nThe morning board has them all.\n"
    for person, key in fresh:
        queue_message(
            key=key,
            kind=rule.kind,
            to=person.email,
            subject=f"{len(lines)}: {about}",
            body=body,
            hours=hours_of(rule, zone),
        )
    return len(fresh)


def _need_line(need: Need) -> str:
    what = need.tree.label if need.tree else need.site.name
    return f"until {need.closes:%-d %B}: {WORK_WORDS.get(need.kind, need.kind)}, {what}, {need.site.name}"
