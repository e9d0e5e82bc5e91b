"""Minutes after local midnight and instants: the only place where the two meet."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduling.rounds.values import Span


def instant(day: date, minute: int, zone: ZoneInfo) -> datetime:
    """The aware instant at which the wall clock of the zone shows that minute of that day.

    Minutes are those of the clock on the wall, not of a stopwatch: on a day with a clock change 480 is 8:00 all the
    same. A time that the clock skips is the instant it jumps by as much as it skips; of a time it shows twice, the first.
    """
    wall = datetime.combine(day, time.min) + timedelta(minutes=minute)
    return wall.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)


def wall_minute(moment: datetime, day: date, zone: ZoneInfo) -> int:
    """The minute after that day's midnight which the zone's wall clock shows at the instant.

    Raises:
        ValueError: the instant has no zone.
    """
    if moment.tzinfo is None:
        raise ValueError("the instant must carry its zone")
    wall = moment.astimezone(zone).replace(tzinfo=None)
    return int((wall - datetime.combine(day, time.min)).total_seconds() // 60)


def hours_in_zone(day: date, hours: Span, site_zone: ZoneInfo, crew_zone: ZoneInfo) -> Span:
    """A client's hours on that day as the crew's clock shows them, where the site lies in another zone."""
    opens, closes = (wall_minute(instant(day, minute, site_zone), day, crew_zone) for minute in hours)
    return opens, closes
