"""A visit put elsewhere by hand: whether it may, what it changes, and the change itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, time

from django.db import transaction
from django.db.models import Q

from business import clock
from business.errors import BadInput, Fault, Stale
from business.models import Staff
from scheduling.models import Plan, Unplaced, Visit
from scheduling.queries.durations import learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import Lock, Move, MoveCheck, Round, check_move
from scheduling.services.crews import lay_shifts
from scheduling.services.placements import (
    Placement,
    clock_words,
    drop_empty_rounds,
    minute_of,
    outlines_of,
    placement,
    put,
    put_outlines,
    round_key,
    time_of,
)
from scheduling.services.plan_notes import note_moves
from scheduling.services.round_problem import build_problem, plan_as_it_stands
from scheduling.services.scenes import our_today
from scheduling.services.visits import touch_visits

MAY_MOVE = (Visit.State.PROPOSED, Visit.State.PLANNED, Visit.State.CONFIRMED)


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Where a visit is to go; ``position`` counts from 1, None for the place that costs least."""

    crew_id: int
    day: date
    position: int | None = None


@dataclass(frozen=True, kw_only=True)
class StopSeen:
    """One stop of the round a move would make."""

    visit: Visit
    arrives: time
    leaves: time
    is_moved: bool


@dataclass(frozen=True, kw_only=True)
class MoveAnswer:
    """Whether a move may be made, why, what it costs, and the round it would make."""

    is_allowed: bool
    why: str
    drive_change: int = 0
    wishes_missed: tuple[str, ...] = ()
    back_at: time | None = None
    stops: tuple[StopSeen, ...] = ()

    @property
    def drive_saved(self) -> int:
        """Minutes of driving less."""
        return max(0, -self.drive_change)


def answer_move(*, visit_id: int, wanted: Wanted) -> MoveAnswer:
    """The instant answer: nothing is written but the crew's usual shift of that day."""
    visit = _visit(visit_id)
    if faults := _refusals(visit, wanted):
        return MoveAnswer(
            is_allowed=False, why=" ".join(f"{fault.where} {fault.wrong}: {fault.remedy}." for fault in faults)
        )
    found, visits = _checked(visit, wanted)
    rows = {str(each.pk): each for each in visits}
    return MoveAnswer(
        is_allowed=found.is_allowed,
        why=found.why,
        drive_change=found.drive_change,
        wishes_missed=(*found.wishes_missed, *_agreement_missed(visit, wanted)),
        back_at=time_of(found.round_to.returns) if found.round_to else None,
        stops=tuple(
            StopSeen(
                visit=rows[stop.visit],
                arrives=time_of(stop.arrives),
                leaves=time_of(stop.ends),
                is_moved=stop.visit == str(visit.pk),
            )
            for stop in (found.round_to.stops if found.round_to else ())
        ),
    )


@transaction.atomic
def move_visit(*, visit_id: int, wanted: Wanted, revision: int | None, by: Staff | None = None) -> Plan:
    """Put a visit there and write both rounds anew. The plan row that comes back can be taken back.

    Raises:
        Stale: the visit was changed since the page was made.
        BadInput: a rule stands against it; the reason is given.
    """
    # All rows the move writes are held, so that two people moving visits of one round follow each other.
    list(Visit.objects.select_for_update(of=("self",)).filter(_on_either_day(_visit(visit_id), wanted)).order_by("pk"))
    visit = _visit(visit_id)
    if revision is not None and visit.revision != revision:
        raise Stale(
            [Fault(f"visit to {visit.site}", "was changed by somebody else meanwhile", "look at it again, then repeat")]
        )
    if faults := _refusals(visit, wanted):
        raise BadInput(faults)
    found, visits = _checked(visit, wanted)
    if not found.is_allowed or found.round_to is None:
        raise BadInput([Fault(f"visit to {visit.site}", found.why.rstrip("."), "choose another day, crew or place")])
    return _write(visit, visits, [each for each in (found.round_from, found.round_to) if each], by)


def neighbours(visit: Visit, step: int) -> Wanted:
    """The same round, one place earlier (-1) or later (+1).

    Raises:
        BadInput: the visit is on no round, or is the first or last already.
    """
    if visit.round is None or visit.on is None or visit.position is None:
        raise BadInput([Fault(f"visit to {visit.site}", "is on no round", "give it a day and a crew first")])
    order = list(Visit.objects.filter(round=visit.round).order_by("position", "pk").values_list("pk", flat=True))
    place = order.index(visit.pk) + 1 + step
    if not 1 <= place <= len(order):
        end = "first" if step < 0 else "last"
        raise BadInput([Fault(f"visit to {visit.site}", f"is the {end} already", "move another one instead")])
    return Wanted(crew_id=visit.round.crew_id, day=visit.on, position=place)


def _visit(visit_id: int) -> Visit:
    return Visit.objects.select_related("site__client", "round__crew", "preferred_crew").get(pk=visit_id)


def _refusals(visit: Visit, wanted: Wanted) -> list[Fault]:
    where = f"visit to {visit.site}"
    if visit.is_locked:
        return [Fault(where, "is fixed", "let it move first")]
    if visit.state not in MAY_MOVE:
        return [Fault(where, f"is {visit.get_state_display().lower()}", "only a visit still to come is moved")]
    if wanted.day < our_today():
        return [Fault("day", f"{wanted.day:%-d %B %Y} is over", "choose today or a day to come")]
    return []


def _on_either_day(visit: Visit, wanted: Wanted) -> Q:
    rounds = Q(round__crew_id=wanted.crew_id, round__on=wanted.day) | Q(pk=visit.pk)
    return rounds | Q(round_id=visit.round_id) if visit.round_id else rounds


def _checked(visit: Visit, wanted: Wanted) -> tuple[MoveCheck, list[Visit]]:
    crews = list(crews_at_work())
    crew = next((each for each in crews if each.pk == wanted.crew_id), None)
    if crew is None:
        raise BadInput([Fault("crew", "is not at work", "choose one of the crews")])
    lay_shifts(crew=crew, first_day=wanted.day, last_day=wanted.day)
    if visit.round and visit.on:
        lay_shifts(crew=visit.round.crew, first_day=visit.on, last_day=visit.on)
    visits = list(
        Visit.objects.filter(_on_either_day(visit, wanted))
        .exclude(state=Visit.State.CALLED_OFF)
        .select_related("site__client", "round__crew", "preferred_crew")
        .order_by("position", "pk")
    )
    days = [wanted.day, *([visit.on] if visit.on else [])]
    problem = build_problem(min(days), max(days), crews, visits, learned_pace(our_today()))
    free = str(visit.pk)
    # An agreed visit may be moved by hand, which is told; the promises of the others are kept.
    over = {str(each.pk): each for each in visits if each.state == Visit.State.FINISHED}
    problem = replace(
        problem,
        visits=tuple(
            replace(each, lock=None)
            if each.id == free
            else replace(each, lock=_where(over[each.id]))
            if each.id in over
            else each
            for each in problem.visits
        ),
    )
    position = None if wanted.position is None else wanted.position - 1
    move = Move(visit=free, crew=str(wanted.crew_id), day=wanted.day, position=position)
    return check_move(problem, plan_as_it_stands(problem, visits), move), visits


def _where(visit: Visit) -> Lock | None:
    """What is finished stays where it was."""
    if visit.round is None or visit.on is None:
        return None
    start = minute_of(visit.arrives_at) if visit.arrives_at else None
    return Lock(crew=str(visit.round.crew_id), day=visit.on, start=start)


def _agreement_missed(visit: Visit, wanted: Wanted) -> tuple[str, ...]:
    if visit.state == Visit.State.CONFIRMED and visit.on and visit.on != wanted.day:
        return (f"The client agreed to {visit.on:%-d %B}; ask again before you move it.",)
    return ()


def _write(visit: Visit, visits: list[Visit], rounds: list[Round], by: Staff | None) -> Plan:
    rows = {str(each.pk): each for each in visits}
    before = {key: placement(each) for key, each in rows.items()}
    days = {round_key(place["crew"], place["on"]) for place in before.values() if place["on"]}
    days |= {round_key(each.crew, each.day) for each in rounds}
    outlines = outlines_of(days)
    for each in rounds:
        for position, stop in enumerate(each.stops, start=1):
            row = rows[stop.visit]
            if row.state == Visit.State.FINISHED or row.state == Visit.State.STARTED:
                put(row, placement(row) | {"position": position})
                continue
            is_agreed = row.state == Visit.State.CONFIRMED and row.on == each.day
            put(
                row,
                {
                    "state": Visit.State.CONFIRMED if is_agreed else Visit.State.PLANNED,
                    "crew": int(each.crew),
                    "on": each.day.isoformat(),
                    "position": position,
                    "arrives": clock_words(time_of(stop.arrives)),
                    "leaves": clock_words(time_of(stop.ends)),
                    "drive": stop.drive_minutes,
                },
            )
    put_outlines({round_key(each.crew, each.day): _outline(each) for each in rounds})
    after = {key: placement(each) for key, each in rows.items()}
    moved = [key for key in rows if before[key] != after[key]]
    touch_visits([int(key) for key in moved])
    drop_empty_rounds()
    Unplaced.objects.filter(visit=visit).delete()
    known = [each for each in (visit.on, rows[str(visit.pk)].on) if each]
    plan = Plan.objects.create(
        made_at=clock.now(),
        made_by=by,
        cause=f"{visit.site} moved by hand"[:120],
        first_day=min(known),
        last_day=max(known),
        state=Plan.State.ACCEPTED,
        before={key: before[key] for key in moved},
        after={key: after[key] for key in moved},
        offer={"rounds_before": outlines},
    )
    note_moves("moved by hand", plan.before, plan.after, by)
    return plan


def _outline(each: Round) -> Placement:
    return {
        "leaves": clock_words(time_of(each.leaves)),
        "back": clock_words(time_of(each.returns)),
        "drive": each.drive_minutes,
        "km": round(each.drive_km, 1),
    }
