"""What is asked of a plan, put together from the book: rain, a crew away, an urgent visit, one that ran over, rounds anew.

A question may wait in a queue: it is a small dictionary of plain values, read and checked when it is asked and again
when a worker takes it up, on the book as it is then.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from typing import Any

from business.errors import BadInput, Fault
from scheduling.models import Shift, Visit
from scheduling.rounds import (
    Effort,
    Replan,
    RoundPlan,
    RoundsProblem,
    mark_wet,
    plan_rounds,
    replan,
    run_over,
    take_off,
)
from scheduling.services.placements import minute_of, round_key
from scheduling.services.round_problem import is_outdoor
from scheduling.services.scenes import Scene, our_today, scene_of, scene_to_lay

LONGEST_AWAY_DAYS = 60
LEAST_PLACED_SHARE = 0.7

Mark = dict[str, Any]
Question = Mapping[str, Any]
"""``kind`` and what the kind needs; days and times in ISO form, so that it can be kept as JSON."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question put to the book: the rounds as they stand, and the problem they are to answer.

    ``marks`` are written on shifts when the answer is accepted, ``also`` names crew-days whose times change without a
    move, ``wanted`` the visit that must find a place. ``anew`` lays all rounds afresh instead of mending them.
    """

    scene: Scene
    problem: RoundsProblem
    cause: str
    marks: Sequence[Mark] = ()
    also: Sequence[str] = ()
    wanted: str = ""
    anew: bool = False


def put_question(question: Question) -> Asked:
    """The question on the book as it is now.

    Raises:
        BadInput: it cannot be asked; each fault says what would help.
    """
    return KINDS[question["kind"]](question)


def find_answer(asked: Asked, effort: Effort) -> Replan:
    """The plan that answers. Nothing is written.

    Raises:
        BadInput: the visit that must find a place finds none; the reason is given.
    """
    if asked.anew:
        found = plan_rounds(asked.problem, effort, _to_go_on_from(asked))
        moved = sum(found.places.get(visit) != place for visit, place in asked.scene.before.places.items())
        return Replan(plan=found, changes=(), stage="all", untouched=len(asked.scene.before.places), moved=moved)
    answer = replan(asked.problem, asked.scene.before, effort)
    reason = next((item for item in answer.plan.unplaced if item.visit == asked.wanted), None)
    if reason:
        remedy = " ".join(reason.freed_by) or "free some hours on a day of its window"
        site = asked.scene.rows[asked.wanted].site
        raise BadInput([Fault(f"visit to {site}", reason.why, remedy)])
    return answer


def _to_go_on_from(asked: Asked) -> RoundPlan | None:
    """The rounds as they stand where most visits are on one: what is as good as before then stays as it was."""
    before = asked.scene.before
    placed = len(before.places)
    return before if placed >= LEAST_PLACED_SHARE * len(asked.problem.visits) else None


def ask_to_lay(*, first_day: date, last_day: date) -> Asked:
    """Rounds anew: whatever is not fixed, agreed, under way or finished may move."""
    scene = scene_to_lay(first_day, last_day)
    words = f"Rounds from {first_day:%-d %B} to {last_day:%-d %B}"
    return Asked(scene=scene, problem=scene.problem, cause=words, anew=True)


def ask_about_rain(*, day: date) -> Asked:
    """A day on which outdoor work is off."""
    scene = scene_of(day)
    hit = [visit for visit in scene.visits if visit.on == day and is_outdoor(visit)]
    _free_what_is_hit(scene, hit, "{} is fixed on the wet day and stays; move it by hand if it cannot be done.")
    marks = [
        _mark(shift, is_wet=True, reason=shift.reason or "rain")
        for shift in Shift.objects.filter(crew__in=scene.crews, on=day, is_off=False)
    ]
    return Asked(scene=scene, problem=mark_wet(scene.problem, day), cause=f"Rain on {day:%-d %B}", marks=marks)


def ask_without_crew(*, crew_id: int, first_day: date, last_day: date, reason: str = "") -> Asked:
    """Some days without a crew.

    Raises:
        BadInput: the days are in the wrong order or too many, or the crew has no shift on any of them.
    """
    if last_day < first_day:
        raise BadInput([Fault("until", f"{last_day} is before {first_day}", "give the later day last")])
    if (last_day - first_day).days >= LONGEST_AWAY_DAYS:
        raise BadInput([Fault("until", "is more than 60 days after the first", "end the crew's work instead")])
    scene = scene_of(first_day, last_day + timedelta(days=14))
    crew = next((each for each in scene.crews if each.pk == crew_id), None)
    if crew is None:
        raise BadInput([Fault("crew", "is not at work", "choose one of the crews")])
    shifts = list(Shift.objects.filter(crew=crew, on__range=(first_day, last_day), is_off=False))
    if not shifts:
        raise BadInput([Fault("days", f"{crew} does not work on them", "name days on which it has a shift")])
    away = {shift.on for shift in shifts}
    hit = [visit for visit in scene.visits if visit.on in away and visit.round and visit.round.crew_id == crew.pk]
    _free_what_is_hit(scene, hit, "{} is fixed on a day without its crew; let it move, or send somebody else.")
    problem = scene.problem
    for day in away:
        problem = take_off(problem, str(crew.pk), day)
    marks = [_mark(shift, is_off=True, reason=reason or "away") for shift in shifts]
    words = f"{first_day:%-d %B}" if first_day == last_day else f"{first_day:%-d %B} to {last_day:%-d %B}"
    return Asked(scene=scene, problem=problem, cause=f"{crew} away, {words}", marks=marks)


def ask_for_urgent(*, visit_id: int, until: date | None = None) -> Asked:
    """A place soon for a suggested visit, others stepping aside only if they must.

    Raises:
        BadInput: it is on a round already, or its window is over.
    """
    visit = Visit.objects.select_related("site__client", "round__crew").get(pk=visit_id)
    today = our_today()
    if visit.state != Visit.State.PROPOSED:
        state = visit.get_state_display().lower()
        raise BadInput([Fault(f"visit to {visit.site}", f"is {state}", "only a suggested visit is looked a place for")])
    last = min(until or visit.closes, visit.closes)
    first = max(today, visit.opens)
    if last < first:
        raise BadInput([Fault(f"visit to {visit.site}", f"may be made until {last:%-d %B}", "open its window first")])
    scene = scene_of(first, also=[visit])
    wanted = str(visit.pk)
    problem = replace(
        scene.problem,
        visits=tuple(
            replace(each, is_urgent=True, closes=min(last, scene.last_day)) if each.id == wanted else each
            for each in scene.problem.visits
        ),
    )
    return Asked(scene=scene, problem=problem, cause=f"Urgent: {visit.site}", wanted=wanted)


def ask_after_overrun(*, visit_id: int, until: time) -> Asked:
    """The rest of today when a crew leaves a site later than planned.

    Raises:
        BadInput: the visit is not of today, or ends no later than planned.
    """
    visit = Visit.objects.select_related("site__client", "round__crew").get(pk=visit_id)
    where = f"visit to {visit.site}"
    if visit.on != our_today() or visit.round is None or visit.state == Visit.State.FINISHED:
        raise BadInput([Fault(where, "is not under way today", "say this on the day, before it is finished")])
    if visit.leaves_at and until <= visit.leaves_at:
        raise BadInput([Fault(where, f"was planned to end at {visit.leaves_at:%H:%M}", "give a later time")])
    crew = visit.round.crew
    scene = scene_of(visit.on, running=crew)
    key = round_key(crew.pk, visit.on)
    sequence = scene.before.sequences.get((str(crew.pk), visit.on), ())
    if str(visit.pk) not in sequence:
        raise BadInput([Fault(where, "cannot be planned round", "look at its site and its minutes first")])
    done = sequence[: sequence.index(str(visit.pk)) + 1]
    later_today = [scene.rows[each] for each in sequence[len(done) :] if not scene.rows[each].is_locked]
    scene.let_move(later_today, on_its_day=True)
    problem = run_over(scene.problem, scene.before, str(visit.pk), minute_of(until))
    scene.problem = problem
    scene.over.setdefault(key, []).extend(scene.rows[each] for each in done)
    scene.leave_alone([scene.rows[each] for each in done])
    scene.notes.append(f"{visit.site} goes on until {until:%H:%M}.")
    return Asked(scene=scene, problem=problem, cause=f"{visit.site} until {until:%H:%M}", also=[key])


def ask_about_gap(*, crew_id: int, on: date, site_name: str) -> Asked:
    """What the gap left by a visit called off would do for those that found no room; nothing moves for them."""
    waiting = _could_not_be_placed(on)
    scene = scene_of(on, also=waiting)
    chosen = {str(visit.pk) for visit in waiting}
    problem = replace(
        scene.problem,
        visits=tuple(replace(each, is_optional=True) if each.id in chosen else each for each in scene.problem.visits),
    )
    scene.problem = problem
    cause = f"{site_name} called off, {on:%-d %B}"
    return Asked(scene=scene, problem=problem, cause=cause, also=[round_key(crew_id, on)])


def _lay(question: Question) -> Asked:
    return ask_to_lay(first_day=_day(question["first_day"]), last_day=_day(question["last_day"]))


def _rain(question: Question) -> Asked:
    return ask_about_rain(day=_day(question["day"]))


def _away(question: Question) -> Asked:
    return ask_without_crew(
        crew_id=question["crew"],
        first_day=_day(question["first_day"]),
        last_day=_day(question["last_day"]),
        reason=question.get("reason", ""),
    )


def _urgent(question: Question) -> Asked:
    until = question.get("until")
    return ask_for_urgent(visit_id=question["visit"], until=_day(until) if until else None)


def _over(question: Question) -> Asked:
    return ask_after_overrun(visit_id=question["visit"], until=time.fromisoformat(question["until"]))


KINDS: Mapping[str, Callable[[Question], Asked]] = {
    "lay": _lay,
    "rain": _rain,
    "away": _away,
    "urgent": _urgent,
    "over": _over,
}


def _day(words: str) -> date:
    return date.fromisoformat(words)


def _free_what_is_hit(scene: Scene, hit: Sequence[Visit], note: str) -> None:
    """Agreed visits that cannot stay may move; fixed ones and those under way are left to a person."""
    scene.leave_alone([visit for visit in hit if visit.is_locked or visit.state == Visit.State.STARTED], note)
    scene.let_move([visit for visit in hit if visit.state == Visit.State.CONFIRMED and not visit.is_locked])


def _mark(shift: Shift, **values: object) -> Mark:
    return {
        "crew": shift.crew_id,
        "on": shift.on.isoformat(),
        "set": values,
        "was": {name: getattr(shift, name) for name in values},
    }


def _could_not_be_placed(day: date) -> Sequence[Visit]:
    """Visits an earlier plan found no room for, whose window is open about that day."""
    return list(
        Visit.objects.filter(
            unplaced__isnull=False, state=Visit.State.PROPOSED, opens__lte=day + timedelta(days=7), closes__gte=day
        ).select_related("site__client", "round__crew", "preferred_crew")
    )
