"""What happens to a plan, as a change of the problem behind it. Each returns the problem as it is afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from scheduling.rounds.plan import RoundPlan
from scheduling.rounds.values import CrewDay, Lock, RoundsProblem, VisitRequest


def mark_wet(problem: RoundsProblem, day: date) -> RoundsProblem:
    """A day on which outdoor work is off."""
    return replace(problem, wet_days=problem.wet_days | {day})


def take_off(problem: RoundsProblem, crew: str, day: date) -> RoundsProblem:
    """A crew that does not work on a day: sick, van broken down."""
    return replace(problem, crew_days=tuple(each for each in problem.crew_days if each.key != (crew, day)))


def call_off(problem: RoundsProblem, visit: str) -> RoundsProblem:
    """A visit that is no longer wanted."""
    return replace(problem, visits=tuple(each for each in problem.visits if each.id != visit))


def ask_for(problem: RoundsProblem, visit: VisitRequest) -> RoundsProblem:
    """A new visit, or one asked for anew with other rules."""
    return replace(problem, visits=(*(each for each in problem.visits if each.id != visit.id), visit))


def run_over(problem: RoundsProblem, plan: RoundPlan, visit: str, ends: int) -> RoundsProblem:
    """A visit that ends later than planned: its crew goes on from there, what it has done is taken out.

    ``ends`` is the minute after midnight at which the crew leaves the site.

    Raises:
        KeyError: the plan has no such visit.
    """
    crew, day = plan.places[visit]
    today = plan.round_of(crew, day)
    if today is None:
        raise KeyError(visit)
    done = today.visits[: today.visits.index(visit) + 1]
    has_had_break = today.break_at is not None and today.break_at + today.break_minutes <= ends
    site = plan.stops[visit].site

    def carried_on(each: CrewDay) -> CrewDay:
        if each.key != (crew, day):
            return each
        pause = 0 if has_had_break else each.break_minutes
        # A crew may be late beyond its shift; a minute keeps the shift one that can be planned.
        return replace(each, starts=ends, ends=max(each.ends, ends + pause + 1), start=site, break_minutes=pause)

    return replace(
        problem,
        crew_days=tuple(carried_on(each) for each in problem.crew_days),
        visits=tuple(each for each in problem.visits if each.id not in done),
    )


def lock_as_planned(problem: RoundsProblem, plan: RoundPlan, visits: Sequence[str]) -> RoundsProblem:
    """Visits promised as the plan has them: crew, day and start."""
    chosen = {visit for visit in visits if visit in plan.places}

    def locked(each: VisitRequest) -> VisitRequest:
        if each.id not in chosen:
            return each
        crew, day = plan.places[each.id]
        return replace(each, lock=Lock(crew=crew, day=day, start=plan.stops[each.id].starts))

    return replace(problem, visits=tuple(locked(each) for each in problem.visits))
