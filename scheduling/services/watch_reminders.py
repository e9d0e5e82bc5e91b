"""What the office must hear at once: frost on open bloom, phones that keep quiet."""

from __future__ import annotations

import hashlib
from datetime import date, datetime
from itertools import groupby

from business.models import Staff
from business.queries.messages import message_by_key
from business.queries.profile import our_profile
from business.services.messages import queue_message
from gardens.services.frost import FrostyNight, frosty_nights
from gardens.services.words import species_name
from scheduling.models import Phone, ReminderRule
from scheduling.queries.reminders import frosty_forecasts, office_mail_addresses, silent_phones, sites_of_stations
from scheduling.services.reminder_times import hours_of, is_hour

COLD_ENOUGH_C = 3.0
"""Warmer nights at the station freeze no bud in a garden near by, however much higher it lies."""
FIRST_MINUTES = 11
"""Stages of many gardens take a while to reckon: looked at once an hour, at the first sweep after the full hour."""
MOST_LINES = 40


def frost_on_bloom(rule: ReminderRule, now: datetime) -> int:
    """One mail for each cold night to each of the office, however often the forecast is brought up to date."""
    zone = our_profile().time_zone
    local = now.astimezone(zone)
    if not is_hour(rule, now, zone) or local.minute >= FIRST_MINUTES:
        return 0
    today = local.date()
    cold = frosty_forecasts(today, rule.days, COLD_ENOUGH_C)
    nights = {night for found in cold.values() for night in found}
    people = list(office_mail_addresses(must_see_prices=False))
    fresh = {
        night: told
        for night in sorted(nights)
        if (told := [one for one in people if not message_by_key(f"{rule.kind}:{night}:{one.pk}")])
    }
    if not fresh:
        return 0
    dangers = frosty_nights(sites_of_stations(cold), today, rule.days)
    by_night = {night: list(found) for night, found in groupby(dangers, key=lambda danger: danger.risk.on)}
    return sum(_tell_of_frost(rule, night, by_night.get(night, []), told) for night, told in fresh.items())


def _tell_of_frost(rule: ReminderRule, night: date, dangers: list[FrostyNight], people: list[Staff]) -> int:
    if not dangers:
        return 0
    lines = [_frost_line(danger) for danger in dangers]
    more = f"\n… and {len(lines) - MOST_LINES} more" if len(lines) > MOST_LINES else ""
    gardens = len({danger.site.pk for danger in dangers})
    body = (
        f"Frost is forecast for {night:%A %-d %B}, early in the morning. Buds and bloom are in danger here:\n\n"
        + "\n".join(f"- {line}" for line in lines[:MOST_LINES])
        + more
        + "\n\nCover the trees the evening before and uncover them by day, or tell the clients to. "
        "The page of each garden's year has the figures and their source.\n"
    )
    for person in people:
        queue_message(
            key=f"{rule.kind}:{night}:{person.pk}",
            kind=rule.kind,
            to=person.email,
            subject=f"Frost on bloom, {night:%A %-d %B}: {gardens} garden{'' if gardens == 1 else 's'}",
            body=body,
            hours=hours_of(rule, our_profile().time_zone),
        )
    return len(people)


def _frost_line(danger: FrostyNight) -> str:
    risk = danger.risk
    return (
        f"{danger.site.name}: {species_name(danger.species)}, {risk.stage.replace('_', ' ')}, {risk.tmin_c:g} °C "
        f"({risk.temperatures.tenth_c:g} °C kills a tenth of the buds)"
    )


def phones_silent(rule: ReminderRule, now: datetime) -> int:
    """Phones with unsent work, or a past round nobody closed, of which nothing was heard; told once for each silence."""
    zone = our_profile().time_zone
    if not is_hour(rule, now, zone):
        return 0
    phones = list(silent_phones(now, now.astimezone(zone).date(), rule.days))
    if not phones:
        return 0
    silence = hashlib.sha256(repr([(phone.pk, phone.last_seen_at) for phone in phones]).encode()).hexdigest()[:16]
    body = (
        "Nothing was heard of these phones, and work may still be on them:\n\n"
        + "\n".join(f"- {_phone_line(phone, now)}" for phone in phones[:MOST_LINES])
        + "\n\nOpen the page “On the round” on the phone where there is a signal; it sends by itself.\n"
    )
    written = 0
    for person in office_mail_addresses(must_see_prices=False):
        key = f"{rule.kind}:{silence}:{person.pk}"
        if message_by_key(key):
            continue
        count = len(phones)
        queue_message(
            key=key,
            kind=rule.kind,
            to=person.email,
            subject=f"{count} phone{'' if count == 1 else 's'} with work not sent",
            body=body,
            hours=hours_of(rule, zone),
        )
        written += 1
    return written


def _phone_line(phone: Phone, now: datetime) -> str:
    days = (now - phone.last_seen_at).days
    holds = [
        f"{count} {words}{'' if count == 1 else 's'}"
        for count, words in ((phone.waiting, "act"), (phone.photos_waiting, "photo"))
        if count
    ]
    held = " and ".join(holds) + " waiting" if holds else "a past round that nobody closed"
    return f"{phone.staff.name}: {held}, last heard {days} day{'' if days == 1 else 's'} ago"
