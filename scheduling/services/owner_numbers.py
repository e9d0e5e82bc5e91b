"""The owner's numbers: how full the crews are, how much of it is driving, what one visit or half a day more would change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from gardens.models import Site
from scheduling.models import Crew, Visit
from scheduling.queries.drives import DrivesSeen, learned_drives
from scheduling.queries.durations import Pace, learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import (
    AddOption,
    CrewTimeGain,
    PlanNumbers,
    RoundPlan,
    RoundsProblem,
    VisitRequest,
    cost_of_adding,
    gain_from_crew_time,
)
from scheduling.rounds.plan import Unplaced as CoreUnplaced
from scheduling.services.crews import lay_shifts
from scheduling.services.round_problem import build_problem, plan_as_it_stands
from scheduling.services.scenes import our_today

DAYS = 28
HALF_A_DAY = 240
MOST_WAITING = 60
"""Visits looked at for another half-day; the most pressing first, so that the page answers at once."""


@dataclass(frozen=True, kw_only=True)
class OwnerNumbers:
    """What the page shows."""

    first_day: date
    last_day: date
    numbers: PlanNumbers
    waiting: int
    gains: Sequence[CrewTimeGain]
    pace: Pace
    crew_names: Mapping[int, str]
    drives: DrivesSeen = field(default_factory=DrivesSeen)


@dataclass(frozen=True, kw_only=True)
class AddedVisit:
    """A visit somebody thinks of: where, how long, until when."""

    site_id: int
    minutes: int
    until: date


def owner_numbers(first_day: date, days: int = DAYS) -> OwnerNumbers:
    """The numbers of the rounds as they stand from a day on."""
    last_day = first_day + timedelta(days=days - 1)
    crews = list(crews_at_work())
    pace = learned_pace(our_today())
    names = {crew.pk: crew.name for crew in crews}
    if not crews:
        empty = PlanNumbers(**dict.fromkeys(PlanNumbers.__dataclass_fields__, 0))
        return OwnerNumbers(
            first_day=first_day, last_day=last_day, numbers=empty, waiting=0, gains=(), pace=pace, crew_names=names
        )
    standing = _standing(first_day, last_day, crews)
    waiting = list(
        Visit.objects.filter(state=Visit.State.PROPOSED, opens__lte=last_day, closes__range=(first_day, last_day))
        .select_related("site", "round__crew", "preferred_crew")
        .order_by("closes", "pk")[:MOST_WAITING]
    )
    problem, plan = _as_it_stands(first_day, last_day, crews, standing, waiting, pace)
    out = tuple(CoreUnplaced(visit=str(visit.pk), code="day_full", why="") for visit in waiting)
    return OwnerNumbers(
        first_day=first_day,
        last_day=last_day,
        numbers=replace(plan.numbers, unplaced=len(waiting)),
        waiting=len(waiting),
        gains=gain_from_crew_time(problem, replace(plan, unplaced=out), HALF_A_DAY),
        pace=pace,
        crew_names=names,
        drives=learned_drives(our_today()),
    )


def cost_of_a_visit(wanted: AddedVisit) -> tuple[AddOption, ...]:
    """Where one more visit would fit without moving another, the cheapest first; empty if nowhere."""
    first_day = our_today() + timedelta(days=1)
    crews = list(crews_at_work())
    if not crews or wanted.until < first_day:
        return ()
    site = Site.objects.get(pk=wanted.site_id)
    standing = _standing(first_day, wanted.until, crews)
    # The thought-of visit stands for its site while the places are laid out; it is never stored.
    thought = Visit(
        pk=0,
        site=site,
        state=Visit.State.PROPOSED,
        opens=first_day,
        best_from=first_day,
        best_until=wanted.until,
        closes=wanted.until,
        minutes=wanted.minutes,
    )
    problem, plan = _as_it_stands(first_day, wanted.until, crews, standing, [thought], learned_pace(our_today()))
    request: VisitRequest = next(each for each in problem.visits if each.id == "0")
    return cost_of_adding(problem, plan, replace(request, best_from=None, best_until=None))


def _standing(first_day: date, last_day: date, crews: Sequence[Crew]) -> list[Visit]:
    return list(
        Visit.objects.filter(state__in=Visit.ON_A_ROUND, on__range=(first_day, last_day), round__crew__in=crews)
        .select_related("site", "round__crew", "preferred_crew")
        .order_by("on", "position", "pk")
    )


def _as_it_stands(
    first_day: date, last_day: date, crews: Sequence[Crew], standing: Sequence[Visit], more: Sequence[Visit], pace: Pace
) -> tuple[RoundsProblem, RoundPlan]:
    for crew in crews:
        lay_shifts(crew=crew, first_day=first_day, last_day=last_day)
    problem = build_problem(first_day, last_day, crews, [*standing, *more], pace)
    return problem, plan_as_it_stands(problem, standing)
