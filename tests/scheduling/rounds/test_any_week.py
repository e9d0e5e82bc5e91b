"""Whatever is asked for: every visit is in a round or named, and every round keeps every promise.

The check below is written from the words of the model, not with the walk the planner uses.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.rounds import CrewDay, Effort, Lock, Round, RoundPlan, RoundsProblem, VisitRequest, plan_rounds, replan
from tests.scheduling.rounds.weeks import NORTH, SOUTH, day, shifts, visit, week

SLOW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SHORT = Effort(iterations=40, seconds=None, seeds=(1, 2))
HOURS = st.sampled_from([(), (), ((480, 720),), ((780, 1020),), ((540, 660), (840, 1000))])


@st.composite
def visits(draw) -> VisitRequest:
    first, last = sorted((draw(st.integers(0, 4)), draw(st.integers(0, 4))))
    asked = visit(
        draw(st.uuids()).hex[:8],
        draw(st.sampled_from("abcdef")),
        draw(st.sampled_from([15, 45, 60, 90, 150, 300])),
        opens=day(first),
        closes=day(last),
        hours=draw(HOURS),
        is_urgent=draw(st.booleans()),
        is_outdoor=draw(st.booleans()),
        is_optional=draw(st.sampled_from([False, False, False, True])),
        skills=draw(st.sampled_from([frozenset(), frozenset(), frozenset({"ladder"})])),
        crew_size=draw(st.sampled_from([1, 1, 2])),
        loads=draw(st.sampled_from([{}, {}, {"posts": 2}])),
        known_crew=draw(st.sampled_from(["", "", "north", "south"])),
        weekdays=draw(st.sampled_from([frozenset(range(7)), frozenset({0, 2, 4})])),
        minutes_for=draw(st.sampled_from([{}, {}, {"south": 75}])),
    )
    if draw(st.integers(0, 5)) == 0:
        start = draw(st.sampled_from([None, 500, 600, 700, 735, 780, 900]))
        asked = replace(asked, lock=Lock(crew=draw(st.sampled_from(["north", "south"])), day=day(last), start=start))
    if draw(st.booleans()):
        asked = replace(asked, best_from=day(last), best_until=day(last))
    return asked


@st.composite
def weeks(draw) -> RoundsProblem:
    asked = draw(st.lists(visits(), min_size=1, max_size=14, unique_by=lambda each: each.id))
    more = draw(
        st.sampled_from([{}, {}, {"overtime_minutes": 45}, {"most_visits": 3}, {"ends": 900}, {"break_from": 720}])
    )
    wet = draw(st.sampled_from([frozenset(), frozenset({day(1)})]))
    light = draw(st.sampled_from([{}, {}, {day(number): (520, 930) for number in range(5)}]))
    return week(*asked, crew_days=shifts(**more), wet_days=wet, daylight=light)


@SLOW
@given(weeks())
def test_any_week_is_planned_within_its_rules(problem):
    plan = plan_rounds(problem, SHORT)

    assert wrong_with(problem, plan) == []


@SLOW
@given(weeks(), visits(), st.integers(0, 4))
def test_any_mended_week_keeps_its_rules(problem, newcomer, number):
    plan = plan_rounds(problem, SHORT)
    changed = replace(
        problem,
        visits=(*problem.visits[1:], newcomer),
        crew_days=tuple(each for each in problem.crew_days if each.key != ("north", day(number))),
    )
    answer = replan(changed, plan, SHORT)

    assert wrong_with(changed, answer.plan) == []
    told = {change.visit for change in answer.changes if change.kind != "retimed"}
    visits_now = {each.id for each in changed.visits}
    for key in set(plan.places) | set(answer.plan.places):
        has_moved = plan.places.get(key) != answer.plan.places.get(key) or key not in visits_now
        assert has_moved == (key in told)


def wrong_with(problem: RoundsProblem, plan: RoundPlan) -> list[str]:
    asked = {each.id: each for each in problem.visits}
    days = {each.key: each for each in problem.crew_days}
    wrong = []
    if sorted([*plan.places, *(each.visit for each in plan.unplaced)]) != sorted(asked):
        wrong.append("a visit is neither placed nor named, or both")
    if len(plan.places) != sum(len(each.stops) for each in plan.rounds):
        wrong.append("a visit is placed twice")
    for each in plan.rounds:
        wrong += _wrong_with_round(problem, each, days[each.crew, each.day], asked)
    return wrong


def _wrong_with_round(problem, each: Round, shift: CrewDay, asked: dict[str, VisitRequest]) -> list[str]:
    crew = NORTH if each.crew == "north" else SOUTH
    wrong, now, here = [], each.leaves, "yard"
    for stop in each.stops:
        if stop.arrives < now + problem.travel.leg(here, stop.site) or stop.starts < stop.arrives:
            wrong.append(f"{stop.visit} starts before the crew is there")
        wrong += _wrong_with_stop(problem, each, stop, asked[stop.visit])
        now, here = stop.ends, stop.site
    posts = [asked[stop.visit] for stop in each.stops if asked[stop.visit].loads]
    paused = each.break_at is not None
    out, worked = each.returns - each.leaves, sum(asked[stop.visit].takes(each.crew) for stop in each.stops)
    claims = {
        "outside the shift": shift.starts <= each.leaves and each.returns <= shift.ends + shift.overtime_minutes,
        "home before the drive ends": each.returns >= now + problem.travel.leg(here, "yard"),
        "break outside its span": not paused or shift.break_from <= each.break_at <= shift.break_until,
        "work, drive and break overlap": out >= worked + each.drive_minutes + each.break_minutes,
        "no break in a long day": paused or out <= 360,
        "too many visits": shift.most_visits is None or len(each.stops) <= shift.most_visits,
        "overloaded": sum(visit.loads["posts"] for visit in posts) <= crew.capacity["posts"]
        or all(visit.lock for visit in posts),
    }
    return wrong + [claim for claim, holds in claims.items() if not holds]


def _wrong_with_stop(problem, each: Round, stop, request: VisitRequest) -> list[str]:
    is_interrupted = stop.starts <= (each.break_at or -1) < stop.ends
    if stop.ends - stop.starts != request.takes(each.crew) + (each.break_minutes if is_interrupted else 0):
        return [f"{stop.visit} has not its minutes"]
    if request.lock:
        kept = (request.lock.crew, request.lock.day) == (each.crew, each.day)
        return [] if kept and request.lock.start in (None, stop.starts) else [f"lock of {stop.visit} broken"]
    crew = NORTH if each.crew == "north" else SOUTH
    light = problem.daylight.get(each.day, (0, 1440))
    spans = request.hours or ((0, 1440),)
    claims = {
        "on a closed day": request.opens <= each.day <= request.closes and each.day.weekday() in request.weekdays,
        "outdoors on a wet day": not (request.is_outdoor and each.day in problem.wet_days),
        "outside the client's hours": any(opens <= stop.starts and stop.ends <= closes for opens, closes in spans),
        "with a crew that may not do it": request.skills <= crew.skills and request.crew_size <= crew.size,
        "in the dark": light[0] <= stop.starts and stop.ends <= light[1],
    }
    return [f"{stop.visit} {claim}" for claim, holds in claims.items() if not holds]
