"""Rows to the values the rounds core plans with, and the rounds as they stand."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, time
from itertools import pairwise

from scheduling.models import Crew, Shift, Visit
from scheduling.models import Round as RoundRow
from scheduling.queries.drives import point_of
from scheduling.queries.durations import SETUP_MINUTES, USUAL_PACE, Pace
from scheduling.rounds import Crew as CoreCrew
from scheduling.rounds import (
    CrewDay,
    Horizon,
    Lock,
    Point,
    Round,
    RoundPlan,
    RoundsProblem,
    Stop,
    VisitRequest,
)
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.numbers import numbers_of
from scheduling.services.crews import public_holidays
from scheduling.services.daylight import daylight_of
from scheduling.services.loads import capacity_of, loads_of
from scheduling.services.placements import minute_of
from scheduling.services.travel import travel_between

MOVABLE = (Visit.State.PROPOSED, Visit.State.PLANNED)
STANDS = (Visit.State.CONFIRMED, Visit.State.STARTED)
NOWHERE = (0.0, 0.0)
"""In the Gulf of Guinea: what a map gives that was never touched."""
DRY_GATES = frozenset({"D24", "D48", "D6W"})


def build_problem(
    first_day: date, last_day: date, crews: Sequence[Crew], visits: Sequence[Visit], pace: Pace = USUAL_PACE
) -> RoundsProblem:
    """The problem of a span of days: shifts as they are in the book, these visits, travel by what is known."""
    by_id = {crew.pk: crew for crew in crews}
    loads = loads_of(visits)
    shifts = list(Shift.objects.filter(crew__in=crews, on__range=(first_day, last_day), is_off=False))
    return RoundsProblem(
        horizon=Horizon(first=first_day, days=(last_day - first_day).days + 1),
        crews=tuple(
            CoreCrew(
                id=str(crew.pk),
                start=f"yard {crew.pk}",
                label=crew.name,
                skills=frozenset(crew.skills),
                size=crew.size,
                capacity=capacity_of(crew),
            )
            for crew in crews
        ),
        crew_days=tuple(
            CrewDay(
                crew=str(shift.crew_id),
                day=shift.on,
                starts=minute_of(shift.starts),
                ends=minute_of(shift.ends),
                break_minutes=shift.break_minutes,
            )
            for shift in shifts
        ),
        visits=tuple(replace(request_of(visit, by_id, pace), loads=loads.get(visit.pk, {})) for visit in visits),
        travel=travel_between(places_of(crews, visits)),
        wet_days=frozenset(shift.on for shift in shifts if shift.is_wet),
        holidays=frozenset(public_holidays(first_day, last_day)) - {shift.on for shift in shifts},
        daylight=daylight_of(crews, first_day, last_day),
    )


def places_of(crews: Sequence[Crew], visits: Sequence[Visit]) -> dict[str, Point]:
    """Yards and gardens by the names the core knows them by. Those nobody set on the map are left out."""
    ends = {f"yard {crew.pk}": (crew.yard_latitude_deg, crew.yard_longitude_deg) for crew in crews}
    ends |= {f"site {visit.site_id}": (visit.site.latitude_deg, visit.site.longitude_deg) for visit in visits}
    return {name: point_of(*place) for name, place in ends.items() if place != NOWHERE}


def request_of(visit: Visit, crews: Mapping[int, Crew], pace: Pace = USUAL_PACE) -> VisitRequest:
    """One visit as the core asks for it; what is fixed, agreed or under way is locked where it stands."""
    stands = visit.is_locked or visit.state in STANDS
    lock = None
    if stands and visit.round and visit.on:
        start = minute_of(visit.arrives_at) if visit.arrives_at else None
        lock = Lock(crew=str(visit.round.crew_id), day=visit.on, start=start)
    hours: tuple[tuple[int, int], ...] = ()
    if visit.site.access_from or visit.site.access_until:
        hours = ((minute_of(visit.site.access_from or time(0)), minute_of(visit.site.access_until or time(23, 59))),)
    hands = min(crew.size for crew in crews.values())
    return VisitRequest(
        id=str(visit.pk),
        site=f"site {visit.site_id}",
        label=f"{visit.site.name}",
        opens=visit.opens,
        closes=visit.closes,
        best_from=visit.best_from,
        best_until=visit.best_until,
        minutes=visit.minutes,
        minutes_for={str(crew.pk): minutes_with(visit, crew, hands, pace) for crew in crews.values()},
        weekdays=frozenset(day for day in range(7) if visit.site.access_week[day] == "1"),
        hours=hours,
        skills=frozenset(visit.skills),
        crew_size=visit.crew_size,
        known_crew=str(visit.preferred_crew_id or ""),
        lock=lock,
        is_outdoor=is_outdoor(visit),
    )


def is_outdoor(visit: Visit) -> bool:
    """Whether some of its work must not be done on a wet day."""
    return bool({gate for rules in visit.weather_rules for gate in rules.split()} & DRY_GATES)


def minutes_with(visit: Visit, crew: Crew, hands: int, pace: Pace = USUAL_PACE) -> int:
    """Minutes on site with a crew: set-up stays, the work is shared among its people and goes at its pace."""
    work = max(0, visit.minutes - SETUP_MINUTES)
    return max(1, SETUP_MINUTES + math.ceil(round(work * hands / crew.size * pace.of_crew(crew.pk), 6)))


def plan_as_it_stands(problem: RoundsProblem, visits: Sequence[Visit]) -> RoundPlan:
    """The rounds of these visits as they are written, with the owner's numbers."""
    lookup = Lookup(_on_the_map(problem))
    by_round: dict[int, list[Visit]] = defaultdict(list)
    rows: dict[int, RoundRow] = {}
    for visit in visits:
        is_known = str(visit.pk) in lookup.visits
        if is_known and visit.round and visit.on and str(visit.round.crew_id) in lookup.crews:
            rows[visit.round.pk] = visit.round
            by_round[visit.round.pk].append(visit)
    rounds = tuple(_round(lookup, rows[key], stops) for key, stops in by_round.items())
    return RoundPlan(rounds=rounds, unplaced=(), numbers=numbers_of(lookup, rounds, 0))


def _on_the_map(problem: RoundsProblem) -> RoundsProblem:
    """The problem without what has no place; the core names it when it plans."""
    known = problem.travel.index
    crews = tuple(crew for crew in problem.crews if crew.start in known and crew.returns_to in known)
    names = {crew.id for crew in crews}
    return replace(
        problem,
        crews=crews,
        crew_days=tuple(day for day in problem.crew_days if day.crew in names),
        visits=tuple(visit for visit in problem.visits if visit.site in known),
    )


def _round(lookup: Lookup, row: RoundRow, visits: Sequence[Visit]) -> Round:
    crew = str(row.crew_id)
    stops = []
    # A visit put in by hand without a time stands behind those with one.
    for visit in sorted(visits, key=lambda each: (each.position or 999, each.arrives_at or time(23, 59), each.pk)):
        arrives = minute_of(visit.arrives_at) if visit.arrives_at else 0
        stops.append(
            Stop(
                visit=str(visit.pk),
                site=f"site {visit.site_id}",
                drive_minutes=visit.drive_minutes,
                drive_km=0.0,
                arrives=arrives,
                starts=arrives,
                ends=minute_of(visit.leaves_at) if visit.leaves_at else arrives,
                is_best=visit.best_from <= row.on <= visit.best_until,
                is_locked=visit.is_locked or visit.state in STANDS,
            )
        )
    drive, km = _drive(lookup, row, tuple(stop.visit for stop in stops))
    return Round(
        crew=crew,
        day=row.on,
        leaves=minute_of(row.leaves_at) if row.leaves_at else stops[0].arrives,
        returns=minute_of(row.back_at) if row.back_at else stops[-1].ends,
        stops=tuple(stops),
        drive_minutes=drive,
        drive_km=km,
        work_minutes=sum(lookup.visits[stop.visit].takes(crew) for stop in stops),
    )


def _drive(lookup: Lookup, row: RoundRow, sequence: tuple[str, ...]) -> tuple[int, float]:
    """Driving of these stops alone: what is over counts neither before nor after, so that the two compare."""
    day = lookup.crew_days.get((str(row.crew_id), row.on))
    if day is None:
        return row.drive_minutes, row.drive_km
    places = [lookup.start_of(day), *(lookup.visits[visit].site for visit in sequence)]
    legs = list(pairwise([*places, lookup.crews[day.crew].returns_to]))
    return sum(lookup.leg(*leg) for leg in legs), round(sum(lookup.km(*leg) for leg in legs), 3)
