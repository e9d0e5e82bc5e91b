"""One day of every crew: shift, stops, drives, and what the day lacks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time

from django.db.models import QuerySet

from scheduling.models import Crew, Round, Shift, Visit
from scheduling.queries.visits import rounds_with_visits


@dataclass(frozen=True, kw_only=True)
class CrewDaySeen:
    """A crew's day as the page shows it. ``round`` is None where nobody is sent."""

    crew: Crew
    round: Round | None
    starts: time | None
    ends: time | None
    leaves: time | None
    back: time | None
    visits: Sequence[Visit]
    is_off: bool
    is_wet: bool
    reason: str


def day_board(crews: QuerySet[Crew], day: date) -> list[CrewDaySeen]:
    """Every crew's day, in a fixed number of queries."""
    chosen = list(crews)
    rounds = {row.crew_id: row for row in rounds_with_visits(Round.objects.filter(crew__in=chosen, on=day))}
    shifts = {row.crew_id: row for row in Shift.objects.filter(crew__in=chosen, on=day)}
    return [_seen(crew, rounds.get(crew.pk), shifts.get(crew.pk), day) for crew in chosen]


def _seen(crew: Crew, found: Round | None, shift: Shift | None, day: date) -> CrewDaySeen:
    works = shift is not None or crew.working_week[day.weekday()] == "1"
    return CrewDaySeen(
        crew=crew,
        round=found,
        starts=shift.starts if shift else crew.starts if works else None,
        ends=shift.ends if shift else crew.ends if works else None,
        leaves=found.leaves_at if found else None,
        back=found.back_at if found else None,
        visits=list(found.visits.all()) if found else [],
        is_off=shift.is_off if shift else not works,
        is_wet=shift.is_wet if shift else False,
        reason=shift.reason if shift else "",
    )
