"""What happens to planned rounds: rain, a crew away, a visit called off, an urgent one, one that ran over.

Each looks for the plan that changes least and offers it; `offers.accept_plan` writes it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time, timedelta

from django.db import transaction

from business.errors import BadInput, Fault, Refusal
from business.models import Staff
from scheduling.models import Need, Plan, Shift, Task, Visit
from scheduling.queries.durations import SETUP_MINUTES, learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import Effort, RoundsProblem, mark_wet, replan, run_over, take_off
from scheduling.services.offers import Mark, offer_plan
from scheduling.services.packing import fewest_hands, lay_tasks, pack_need
from scheduling.services.placements import minute_of, round_key
from scheduling.services.round_problem import is_outdoor
from scheduling.services.scenes import Scene, our_today, scene_of
from scheduling.services.visits import call_off_visit

USUAL_EFFORT = Effort(seconds=6.0)
LONGEST_AWAY_DAYS = 60


def rain_day(*, day: date, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a plan for a day on which outdoor work is off."""
    scene = scene_of(day)
    hit = [visit for visit in scene.visits if visit.on == day and is_outdoor(visit)]
    _free_what_is_hit(scene, hit, "{} is fixed on the wet day and stays; move it by hand if it cannot be done.")
    problem = mark_wet(scene.problem, day)
    marks = [
        _mark(shift, is_wet=True, reason=shift.reason or "rain")
        for shift in Shift.objects.filter(crew__in=scene.crews, on=day, is_off=False)
    ]
    return _offer(scene, problem, cause=f"Rain on {day:%-d %B}", by=by, effort=effort, marks=marks)


def crew_away(
    *,
    crew_id: int,
    first_day: date,
    last_day: date,
    reason: str = "",
    by: Staff | None = None,
    effort: Effort | None = None,
) -> Plan:
    """Offer a plan without a crew on some days.

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
    return _offer(scene, problem, cause=f"{crew} away, {words}", by=by, effort=effort, marks=marks)


def visit_called_off(
    *, visit_id: int, reason: str, revision: int | None = None, by: Staff | None = None, effort: Effort | None = None
) -> Plan | None:
    """Call a visit off, then offer what the gap would do for the others. None if nobody gains.

    The calling off is a fact and stands whatever becomes of the offer.
    """
    visit = Visit.objects.select_related("round").get(pk=visit_id)
    on, crew_id = visit.on, visit.round.crew_id if visit.round else None
    called_off = call_off_visit(visit_id=visit_id, reason=reason, revision=revision)
    if on is None or crew_id is None or on < our_today():
        return None
    waiting = _could_not_be_placed(on)
    scene = scene_of(on, also=waiting)
    scene.problem = _as_wishes(scene.problem, waiting)
    plan = _offer(
        scene,
        scene.problem,
        cause=f"{called_off.site} called off, {on:%-d %B}",
        by=by,
        effort=effort,
        also=[round_key(crew_id, on)],
    )
    if plan.after:
        return plan
    plan.delete()
    return None


def urgent_visit(
    *, visit_id: int, until: date | None = None, by: Staff | None = None, effort: Effort | None = None
) -> Plan:
    """Offer a place soon for a suggested visit, others stepping aside only if they must.

    Raises:
        BadInput: it is on a round already, its window is over, or no place is found; the reason is given.
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
    found = replan(problem, scene.before, effort or USUAL_EFFORT)
    reason = next((item for item in found.plan.unplaced if item.visit == wanted), None)
    if reason:
        remedy = " ".join(reason.freed_by) or "free some hours on a day of its window"
        raise BadInput([Fault(f"visit to {visit.site}", reason.why, remedy)])
    return offer_plan(scene, found, cause=f"Urgent: {visit.site}", by=by)


def urgent_need(*, need_id: int, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a place soon for work that no visit serves: it gets a visit of its own.

    Raises:
        BadInput: the work is settled, is on a visit already, or no place is found.
    """
    need = Need.objects.select_related("site", "season", "tree__support", "support").get(pk=need_id)
    where = f"{need.kind.replace('_', ' ')} at {need.site}"
    if need.state != Need.State.OPEN:
        raise BadInput([Fault(where, f"is {need.get_state_display()}", "only open work needs a visit")])
    if Task.objects.filter(need=need, state=Task.State.OPEN).exists():
        raise BadInput([Fault(where, "is on a visit already", "look a place for that visit instead")])
    visit = _visit_for(need)
    try:
        return urgent_visit(visit_id=visit.pk, by=by, effort=effort)
    except Refusal:
        visit.delete()
        raise


@transaction.atomic
def _visit_for(need: Need) -> Visit:
    hands = fewest_hands(crews_at_work())
    asked = pack_need([need], hands, learned_pace(our_today()))
    visit = Visit.objects.create(
        site=need.site,
        season=need.season,
        opens=need.opens,
        best_from=need.best_from,
        best_until=need.best_until,
        closes=need.closes,
        minutes=SETUP_MINUTES + asked.minutes,
        skills=sorted(asked.skills),
        weather_rules=[need.weather_rule] if need.weather_rule else [],
        why_here="Asked for at once, by itself.",
    )
    lay_tasks(visit, [need])
    return visit


def visit_ran_over(*, visit_id: int, until: time, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a plan for the rest of today when a crew leaves a site later than planned.

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
    return _offer(scene, problem, cause=f"{visit.site} until {until:%H:%M}", by=by, effort=effort, also=[key])


def _offer(
    scene: Scene,
    problem: RoundsProblem,
    *,
    cause: str,
    by: Staff | None,
    effort: Effort | None,
    marks: Sequence[Mark] = (),
    also: Sequence[str] = (),
) -> Plan:
    found = replan(problem, scene.before, effort or USUAL_EFFORT)
    return offer_plan(scene, found, cause=cause, by=by, marks=marks, also=also)


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


def _as_wishes(problem: RoundsProblem, visits: Sequence[Visit]) -> RoundsProblem:
    """These take a gap if they fit; nothing moves for them."""
    chosen = {str(visit.pk) for visit in visits}
    return replace(
        problem,
        visits=tuple(replace(each, is_optional=True) if each.id in chosen else each for each in problem.visits),
    )
