"""On which day a visit was done, by the clock of its garden."""

from __future__ import annotations

from datetime import date

from business import clock
from scheduling.models import Visit


def day_done(visit: Visit) -> date:
    """The day the crew finished, which may differ from the day it was planned for; else the planned one, else today."""
    if visit.finished_at is not None:
        return clock.today(visit.site.zone, at=visit.finished_at)
    return visit.on or clock.today(visit.site.zone)
