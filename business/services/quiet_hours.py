"""When mail may go: hours on the clock of a place, also on the nights when clocks change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Hours:
    """From a full hour on and before another, as the clock of ``zone`` shows them."""

    from_hour: int
    until_hour: int
    zone: ZoneInfo

    def hold(self, at: datetime) -> bool:
        """Whether ``at`` lies within them."""
        return self.from_hour <= at.astimezone(self.zone).hour < self.until_hour

    def next_moment(self, wanted: datetime) -> datetime:
        """``wanted`` itself, or the first moment after it at which the hours hold.

        An hour that the clock leaves out in spring has no moment; the hours then begin where the clock goes on. One
        that it shows twice in autumn holds both times.
        """
        if self.hold(wanted):
            return wanted
        local = wanted.astimezone(self.zone)
        is_later_today = local.hour < self.from_hour
        return self._opening(local.date() + timedelta(days=0 if is_later_today else 1))

    def _opening(self, day: date) -> datetime:
        # A time that the clock leaves out is read with the offset from before; seen again it lies behind the gap.
        return datetime.combine(day, time(self.from_hour), self.zone).astimezone(UTC)
