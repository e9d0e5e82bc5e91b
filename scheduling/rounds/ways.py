"""The ways a visit may be made, as the routing library understands them: days in a row, hours, what each earns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from scheduling.rounds.lookup import Lookup, break_of
from scheduling.rounds.values import Span, VisitRequest


@dataclass(frozen=True, kw_only=True)
class Hold:
    """Ties a visit to a day and a crew while replanning: a price for leaving them, or no way out."""

    crew: str
    day: date
    is_firm: bool
    stay_bonus: int = 0
    crew_price: int = 0


@dataclass(frozen=True, kw_only=True)
class Shape:
    """How the rules are written down.

    ``by_day``: what a day means for a visit (closed, outside its best part, not where it was planned) stands in the
    matrices of that day, and a visit without hours is one client; quick to search, but a pair of matrices per crew and
    day. Else a visit has one client per run of days that are alike, and the matrices differ by crew only.
    ``with_best_part`` off leaves best parts out, for a first, coarse answer.
    """

    by_day: bool = False
    with_best_part: bool = True
    holds: Mapping[str, Hold] | None = None

    def hold(self, visit: VisitRequest) -> Hold | None:
        """What ties the visit, if anything does."""
        return (self.holds or {}).get(visit.id)


@dataclass(frozen=True)
class Run:
    """Days in a row on which a visit may start, with hours, and what it earns there above other days."""

    first: date
    last: date
    opens: int
    closes: int
    extra: int


def days_open(lookup: Lookup, visit: VisitRequest, shape: Shape) -> tuple[date, ...]:
    """Days on which the visit may be made."""
    hold = shape.hold(visit)
    days = lookup.days_for(visit)
    return tuple(day for day in days if day == hold.day) if hold and hold.is_firm else days


def extra_on(lookup: Lookup, visit: VisitRequest, shape: Shape, day: date) -> int:
    """What the visit earns on this day above other days: its best part, and the day it was planned for."""
    hold, extra = shape.hold(visit), 0
    if shape.with_best_part and visit.best_from is not None and visit.lock is None and visit.is_best_on(day):
        extra += lookup.problem.weights.best_part
    if hold and not hold.is_firm and hold.day == day:
        extra += hold.stay_bonus
    return extra


def most_extra(lookup: Lookup, visit: VisitRequest, shape: Shape) -> int:
    """The most a day can earn."""
    return max((extra_on(lookup, visit, shape, day) for day in days_open(lookup, visit, shape)), default=0)


def runs_of(lookup: Lookup, visit: VisitRequest, shape: Shape) -> tuple[Run, ...]:
    """The ways a visit may be made. Days nobody works do not break a run."""
    days = days_open(lookup, visit, shape)
    whole_day = lookup.problem.horizon.minutes_per_day
    if shape.by_day:
        marked = [(day, 0) for day in days]
        if days and (not visit.hours or visit.lock):
            return (Run(days[0], days[-1], 0, whole_day, 0),)
    else:
        marked = [(day, extra_on(lookup, visit, shape, day)) for day in days]
    if visit.hours and visit.lock is None:
        return tuple(
            Run(day, day, *_in_solver_time(lookup, hours), extra) for day, extra in marked for hours in visit.hours
        )
    runs: list[Run] = []
    place = {day: number for number, day in enumerate(lookup.working_days)}
    for day, extra in marked:
        if runs and runs[-1].extra == extra and place[runs[-1].last] + 1 == place[day]:
            runs[-1] = replace(runs[-1], last=day)
        else:
            runs.append(Run(day, day, 0, whole_day, extra))
    return tuple(runs)


def _in_solver_time(lookup: Lookup, hours: Span) -> Span:
    """The client's hours on a clock that stands still during the break, which the library does not know.

    Whatever the library lays after a break that may already have begun happens later by the break at most, so hours
    end earlier by it. Hours that begin late enough for the break to lie before them begin earlier by it.
    """
    opens, closes = hours
    return opens - pause_before(lookup, opens), closes - max(
        (break_of(day) for day in lookup.crew_days.values() if day.break_from < closes), default=0
    )


def pause_before(lookup: Lookup, minute: int) -> int:
    """The break, if on every crew-day it surely lies before this minute."""
    pauses = [break_of(day) if minute - break_of(day) >= day.break_from else 0 for day in lookup.crew_days.values()]
    return min(pauses, default=0)
