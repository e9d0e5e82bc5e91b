"""Is it time? Asked on the clock of a place."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from business.services.quiet_hours import Hours
from scheduling.models import ReminderRule


def is_hour(rule: ReminderRule, now: datetime, zone: ZoneInfo) -> bool:
    """Whether mail of this kind may be written at this moment in ``zone``."""
    return hours_of(rule, zone).hold(now)


def hours_of(rule: ReminderRule, zone: ZoneInfo) -> Hours:
    """The hours of a rule on the clock of ``zone``; its mail keeps them, tries again included."""
    return Hours(rule.from_hour, rule.until_hour, zone)


def start_of(day: date, at: time | None, zone: ZoneInfo) -> datetime:
    """The moment a day's work begins in ``zone``; without an hour, the day itself."""
    return datetime.combine(day, at or time(0), zone).astimezone(UTC)


def days_until(day: date, now: datetime, zone: ZoneInfo) -> int:
    """How many calendar days ahead a day lies in ``zone``."""
    return (day - now.astimezone(zone).date()).days


def week_to_tell(rule: ReminderRule, now: datetime, zone: ZoneInfo) -> str:
    """The week (ISO 8601) a weekly reminder is due in, like 2027-W03; empty before its weekday or out of hours.

    Missed on its weekday, it is still due on the days after.
    """
    local = now.astimezone(zone)
    if not is_hour(rule, now, zone) or local.weekday() < (rule.weekday or 0):
        return ""
    year, week, _ = local.isocalendar()
    return f"{year}-W{week:02}"
