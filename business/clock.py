"""The only module that asks the machine what time it is."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def now() -> datetime:
    """The present instant, aware, in UTC."""
    return datetime.now(UTC)


def today(zone: ZoneInfo, *, at: datetime | None = None) -> date:
    """The calendar day in ``zone`` now, or at the aware instant ``at``."""
    return (at or now()).astimezone(zone).date()
