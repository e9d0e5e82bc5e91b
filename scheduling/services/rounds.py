"""Lay visits into crew-days, keep the plan, and take it back if need be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction

from business import clock
from business.errors import BadInput, Fault, Stale
from business.models import Staff
from business.queries.profile import our_profile
from scheduling.models import Plan, Round, Shift, Unplaced, Visit
from scheduling.queries.durations import learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import Effort, RoundPlan, Stop, plan_rounds
from scheduling.services.crews import lay_shifts
from scheduling.services.placements import (
    drop_empty_rounds,
    outlines_of,
    placement,
    put,
    put_outlines,
    round_key,
    time_of,
)
from scheduling.services.plan_notes import note_moves
from scheduling.services.round_problem import MOVABLE, build_problem, places_of
from scheduling.services.scenes import check_span, visits_to_lay
from scheduling.services.travel import ask_road_service
from scheduling.services.visits import touch_visits

MOST_NAMED = 12


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
    """Plan the rounds of a span of days and write them at once, as commands do; pages ask for an offer (`plan_runs`).

    Visits that are fixed, agreed, under way or finished stay where they are; every other visit whose window touches
    the span may move.

    Raises:
        BadInput: the days are in the wrong order, too many, or there is no crew.
        Stale: somebody changed visits while the rounds were worked out; nothing is written.
    """
    check_span(first_day, last_day)
    crews = list(crews_at_work())
    if not crews:
        raise BadInput([Fault("crews", "there is none", "add a crew with its people and its yard first")])
    for crew in crews:
        lay_shifts(crew=crew, first_day=first_day, last_day=last_day)
    visits = list(visits_to_lay(first_day, last_day))
    pace = learned_pace(clock.today(our_profile().time_zone))
    trouble = ask_road_service(places_of(crews, visits))
    problem = build_problem(first_day, last_day, crews, visits, pace)
    found = plan_rounds(problem, effort)
    outcome = _write(found, visits, first_day=first_day, last_day=last_day, by=by, cause=cause)
    plan = outcome.plan
    plan.offer |= {
        "travel": list(problem.travel.notes),
        "notes": [*([trouble] if trouble else []), *map(str, found.faults)],
    }
    plan.save(update_fields=["offer"])
    return outcome


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
        put(visit, plan.before[key])
    touch_visits([visit.pk for visit in visits.values()])
    put_outlines(plan.offer.get("rounds_before", {}))
    drop_empty_rounds()
    _unmark(plan)
    plan.state = Plan.State.UNDONE
    plan.save(update_fields=["state"])
    note_moves("put back: plan taken back", plan.after, plan.before)
    return plan


def _unmark(plan: Plan) -> None:
    """Shifts the plan marked wet or off are as they were."""
    for mark in plan.offer.get("marks", ()):
        Shift.objects.filter(crew_id=mark["crew"], on=mark["on"]).update(**mark["was"])


@transaction.atomic
def _write(
    found: RoundPlan, visits: Sequence[Visit], *, first_day: date, last_day: date, by: Staff | None, cause: str
) -> RoundsOutcome:
    _refuse_if_changed(visits)
    rows = {str(visit.pk): visit for visit in visits}
    before = {key: placement(visit) for key, visit in rows.items()}
    outlines = outlines_of(
        {round_key(place["crew"], place["on"]) for place in before.values() if place["on"]}
        | {round_key(each.crew, each.day) for each in found.rounds}
    )
    Unplaced.objects.filter(visit__in=list(visits)).delete()
    for visit in visits:
        if visit.state in MOVABLE and not visit.is_locked:
            put(visit, {"state": Visit.State.PROPOSED})
    placed = 0
    for planned in found.rounds:
        row, _ = Round.objects.update_or_create(
            crew_id=int(planned.crew),
            on=planned.day,
            defaults={
                "leaves_at": time_of(planned.leaves),
                "back_at": time_of(planned.returns),
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
    drop_empty_rounds()
    plan = Plan.objects.create(
        made_at=clock.now(),
        made_by=by,
        cause=cause,
        first_day=first_day,
        last_day=last_day,
        state=Plan.State.ACCEPTED,
        before={key: before[key] for key in moved},
        after={key: after[key] for key in moved},
        numbers=numbers_kept(found),
        offer={"rounds_before": outlines},
    )
    note_moves(f"placed by a plan: {cause}"[:80], plan.before, plan.after, by)
    binding = [item for item in found.unplaced if must_be_placed(rows[item.visit], last_day)]
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


def _refuse_if_changed(visits: Sequence[Visit]) -> None:
    """What others did to the visits since they were read must not be lost."""
    ids = [visit.pk for visit in visits]
    now = dict(Visit.objects.select_for_update().filter(pk__in=ids).order_by("pk").values_list("pk", "revision"))
    changed = [visit for visit in visits if now.get(visit.pk) != visit.revision]
    if changed:
        raise Stale(
            Fault(f"visit to {visit.site}", "was changed while the rounds were worked out", "lay the rounds again")
            for visit in changed[:MOST_NAMED]
        )


def must_be_placed(visit: Visit, last_day: date) -> bool:
    """A visit that may still be made after the span is not lost: a later plan takes it."""
    return visit.closes <= last_day + timedelta(days=3)


def _place(visit: Visit, row: Round, position: int, stop: Stop) -> None:
    visit.round, visit.on, visit.position = row, row.on, position
    visit.arrives_at, visit.leaves_at = time_of(stop.arrives), time_of(stop.ends)
    visit.drive_minutes = stop.drive_minutes
    if visit.state == Visit.State.PROPOSED:
        visit.state = Visit.State.PLANNED
    visit.save()


def numbers_kept(found: RoundPlan) -> dict[str, Any]:
    """The numbers of a plan as its row keeps them."""
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
        "known_crew_share": round(numbers.known_crew_share, 3),
        "work_minutes_by_crew": dict(by_crew),
        "seconds": round(found.seconds, 1),
        "faults": [str(fault) for fault in found.faults],
    }
