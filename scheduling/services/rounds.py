"""Lay visits into crew-days, keep the plan, and take it back if need be."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from business import clock
from business.errors import BadInput, Fault
from business.models import Staff
from scheduling.models import Crew, Plan, Round, Shift, Unplaced, Visit
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import Crew as CoreCrew
from scheduling.rounds import (
    CrewDay,
    Effort,
    Horizon,
    Lock,
    Point,
    RoundPlan,
    RoundsProblem,
    Stop,
    VisitRequest,
    estimate_matrix,
    plan_rounds,
)
from scheduling.services.crews import lay_shifts
from scheduling.services.packing import SETUP_MINUTES
from scheduling.services.visits import touch_visits

MOVABLE = (Visit.State.PROPOSED, Visit.State.PLANNED)
STANDS = (Visit.State.CONFIRMED, Visit.State.STARTED)
LONGEST_HORIZON_DAYS = 400
DRY_GATES = frozenset({"D24", "D48", "D6W"})


@dataclass(frozen=True, kw_only=True)
class RoundsOutcome:
    """What laying rounds did."""

    plan: Plan
    rounds: int
    placed: int
    unplaced: int
    drive_minutes: int


def lay_rounds(
    *,
    first_day: date,
    last_day: date,
    effort: Effort | None = None,
    by: Staff | None = None,
    cause: str = "plan rounds",
) -> RoundsOutcome:
    """Plan the rounds of a span of days and write them.

    Visits that are fixed, agreed, under way or finished stay where they are; every other visit whose window touches
    the span may move.

    Raises:
        BadInput: the days are in the wrong order, too many, or there is no crew.
    """
    _check_days(first_day, last_day)
    crews = list(crews_at_work())
    if not crews:
        raise BadInput([Fault("crews", "there is none", "add a crew with its people and its yard first")])
    for crew in crews:
        lay_shifts(crew=crew, first_day=first_day, last_day=last_day)
    visits = list(_visits_for(first_day, last_day))
    problem = _problem(first_day, last_day, crews, visits)
    found = plan_rounds(problem, effort)
    return _write(found, visits, first_day=first_day, last_day=last_day, by=by, cause=cause)


@transaction.atomic
def take_back(*, plan_id: int) -> Plan:
    """Put every visit a plan moved back where it was, if nobody touched it since.

    Raises:
        BadInput: the plan is not in force, or visits were changed after it.
    """
    plan = Plan.objects.select_for_update().get(pk=plan_id)
    if plan.state != Plan.State.ACCEPTED:
        raise BadInput([Fault("plan", f"is {plan.get_state_display().lower()}", "only a plan in force is taken back")])
    visits = {str(visit.pk): visit for visit in Visit.objects.select_for_update().filter(pk__in=plan.after)}
    changed = [visit for key, visit in visits.items() if placement(visit) != plan.after[key]]
    if changed:
        raise BadInput(
            Fault(f"visit to {visit.site}", "was changed since", "move it back by hand if it should go back")
            for visit in changed
        )
    for key, visit in visits.items():
        _put(visit, plan.before[key])
    _drop_empty_rounds()
    plan.state = Plan.State.UNDONE
    plan.save(update_fields=["state"])
    return plan


def placement(visit: Visit) -> dict[str, Any]:
    """Where a visit stands, as plans remember it."""
    return {
        "state": visit.state,
        "crew": visit.round.crew_id if visit.round else None,
        "on": visit.on.isoformat() if visit.on else None,
        "position": visit.position,
        "arrives": visit.arrives_at.strftime("%H:%M") if visit.arrives_at else None,
        "leaves": visit.leaves_at.strftime("%H:%M") if visit.leaves_at else None,
        "drive": visit.drive_minutes,
    }


def _check_days(first_day: date, last_day: date) -> None:
    if last_day < first_day:
        raise BadInput([Fault("until", f"{last_day} is before {first_day}", "give the later day last")])
    if (last_day - first_day).days > LONGEST_HORIZON_DAYS:
        raise BadInput([Fault("until", "is more than 400 days after the first day", "plan a season at a time")])


def _visits_for(first_day: date, last_day: date) -> QuerySet[Visit]:
    """Visits that may be laid into the span, and those that stand in it."""
    movable = (
        Visit.objects.filter(state__in=MOVABLE, is_locked=False, opens__lte=last_day, closes__gte=first_day)
        .exclude(on__lt=first_day)
        .exclude(on__gt=last_day)
    )
    standing = Visit.objects.filter(on__range=(first_day, last_day)).filter(state__in=(*STANDS, Visit.State.PLANNED))
    both = (movable | standing.filter(state__in=STANDS) | standing.filter(is_locked=True)).distinct()
    return both.select_related("site", "round__crew", "preferred_crew").order_by("pk")


def _problem(first_day: date, last_day: date, crews: Sequence[Crew], visits: Sequence[Visit]) -> RoundsProblem:
    places = {
        f"yard {crew.pk}": Point(latitude_deg=crew.yard_latitude_deg, longitude_deg=crew.yard_longitude_deg)
        for crew in crews
    }
    places |= {
        f"site {visit.site_id}": Point(latitude_deg=visit.site.latitude_deg, longitude_deg=visit.site.longitude_deg)
        for visit in visits
    }
    by_id = {crew.pk: crew for crew in crews}
    shifts = Shift.objects.filter(crew__in=crews, on__range=(first_day, last_day), is_off=False)
    return RoundsProblem(
        horizon=Horizon(first=first_day, days=(last_day - first_day).days + 1),
        crews=tuple(
            CoreCrew(
                id=str(crew.pk), start=f"yard {crew.pk}", label=crew.name, skills=frozenset(crew.skills), size=crew.size
            )
            for crew in crews
        ),
        crew_days=tuple(
            CrewDay(
                crew=str(shift.crew_id),
                day=shift.on,
                starts=_minute(shift.starts),
                ends=_minute(shift.ends),
                break_minutes=shift.break_minutes,
            )
            for shift in shifts
        ),
        visits=tuple(_request(visit, by_id) for visit in visits),
        travel=estimate_matrix(places),
        wet_days=frozenset(shift.on for shift in shifts if shift.is_wet),
    )


def _request(visit: Visit, crews: dict[int, Crew]) -> VisitRequest:
    stands = visit.is_locked or visit.state in STANDS
    lock = None
    if stands and visit.round and visit.on:
        start = _minute(visit.arrives_at) if visit.arrives_at else None
        lock = Lock(crew=str(visit.round.crew_id), day=visit.on, start=start)
    hours: tuple[tuple[int, int], ...] = ()
    if visit.site.access_from or visit.site.access_until:
        hours = ((_minute(visit.site.access_from or time(0)), _minute(visit.site.access_until or time(23, 59))),)
    gates = {gate for rules in visit.weather_rules for gate in rules.split()}
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
        minutes_for={str(crew.pk): minutes_with(visit, crew, hands) for crew in crews.values()},
        weekdays=frozenset(day for day in range(7) if visit.site.access_week[day] == "1"),
        hours=hours,
        skills=frozenset(visit.skills),
        crew_size=visit.crew_size,
        known_crew=str(visit.preferred_crew_id or ""),
        lock=lock,
        is_outdoor=bool(gates & DRY_GATES),
    )


def minutes_with(visit: Visit, crew: Crew, hands: int) -> int:
    """Minutes on site with a crew larger than the smallest: set-up stays, the work is shared."""
    work = max(0, visit.minutes - SETUP_MINUTES)
    return max(1, SETUP_MINUTES + math.ceil(work * hands / crew.size))


@transaction.atomic
def _write(
    found: RoundPlan, visits: Sequence[Visit], *, first_day: date, last_day: date, by: Staff | None, cause: str
) -> RoundsOutcome:
    rows = {str(visit.pk): visit for visit in visits}
    before = {key: placement(visit) for key, visit in rows.items()}
    Unplaced.objects.filter(visit__in=list(visits)).delete()
    for visit in visits:
        if visit.state in MOVABLE and not visit.is_locked:
            _put(visit, {"state": Visit.State.PROPOSED})
    placed = 0
    for planned in found.rounds:
        row, _ = Round.objects.update_or_create(
            crew_id=int(planned.crew),
            on=planned.day,
            defaults={
                "leaves_at": _time(planned.leaves),
                "back_at": _time(planned.returns),
                "drive_minutes": planned.drive_minutes,
                "drive_km": round(planned.drive_km, 1),
            },
        )
        for position, stop in enumerate(planned.stops, start=1):
            _place(rows[stop.visit], row, position, stop)
            placed += 1
    after = {key: placement(visit) for key, visit in rows.items()}
    moved = [key for key in rows if before[key] != after[key]]
    touch_visits([int(key) for key in moved])
    _drop_empty_rounds()
    plan = Plan.objects.create(
        made_at=clock.now(),
        made_by=by,
        cause=cause,
        first_day=first_day,
        last_day=last_day,
        state=Plan.State.ACCEPTED,
        before={key: before[key] for key in moved},
        after={key: after[key] for key in moved},
        numbers=_numbers(found),
    )
    binding = [item for item in found.unplaced if _must_be_placed(rows[item.visit], last_day)]
    Unplaced.objects.bulk_create(
        Unplaced(plan=plan, visit=rows[item.visit], code=item.code, why=item.why, remedy=" ".join(item.freed_by))
        for item in binding
    )
    return RoundsOutcome(
        plan=plan,
        rounds=len(found.rounds),
        placed=placed,
        unplaced=len(binding),
        drive_minutes=found.numbers.drive_minutes,
    )


def _must_be_placed(visit: Visit, last_day: date) -> bool:
    """A visit that may still be made after the span is not lost: a later plan takes it."""
    return visit.closes <= last_day + timedelta(days=3)


def _place(visit: Visit, row: Round, position: int, stop: Stop) -> None:
    visit.round, visit.on, visit.position = row, row.on, position
    visit.arrives_at, visit.leaves_at = _time(stop.arrives), _time(stop.ends)
    visit.drive_minutes = stop.drive_minutes
    if visit.state == Visit.State.PROPOSED:
        visit.state = Visit.State.PLANNED
    visit.save()


def _put(visit: Visit, where: dict[str, Any]) -> None:
    """Put a visit where a remembered placement says; without a day it is a suggestion again."""
    on = date.fromisoformat(where["on"]) if where.get("on") else None
    visit.state = where["state"]
    visit.on = on
    visit.round = Round.objects.get_or_create(crew_id=where["crew"], on=on)[0] if on and where.get("crew") else None
    visit.position = where.get("position")
    visit.arrives_at = time.fromisoformat(where["arrives"]) if where.get("arrives") else None
    visit.leaves_at = time.fromisoformat(where["leaves"]) if where.get("leaves") else None
    visit.drive_minutes = where.get("drive") or 0
    visit.save()


def _drop_empty_rounds() -> None:
    Round.objects.filter(visits=None).delete()


def _numbers(found: RoundPlan) -> dict[str, Any]:
    numbers = found.numbers
    by_crew: dict[str, int] = defaultdict(int)
    for planned in found.rounds:
        by_crew[planned.crew] += planned.work_minutes
    return {
        "placed": numbers.placed,
        "unplaced": numbers.unplaced,
        "rounds": numbers.rounds,
        "drive_minutes": numbers.drive_minutes,
        "drive_km": round(numbers.drive_km, 1),
        "utilisation": round(numbers.utilisation, 3),
        "drive_share": round(numbers.drive_share, 3),
        "best_share": round(numbers.best_share, 3),
        "work_minutes_by_crew": dict(by_crew),
        "seconds": round(found.seconds, 1),
        "faults": [str(fault) for fault in found.faults],
    }


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _time(minute: int) -> time:
    return time(min(23, minute // 60), minute % 60 if minute < 1440 else 59)
