"""Is it time? Asked on the clock of a place."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from scheduling.models import ReminderRule


def is_hour(rule: ReminderRule, now: datetime, zone: ZoneInfo) -> bool:
    """Whether mail of this kind may be written at this moment in ``zone``."""
    return rule.from_hour <= now.astimezone(zone).hour < rule.until_hour


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
