"""After rain, sickness, a call-off or an urgent visit: little changed, everything told."""

from dataclasses import replace

import pytest

from scheduling.rounds import (
    Effort,
    Lock,
    ask_for,
    call_off,
    lock_as_planned,
    mark_wet,
    plan_rounds,
    replan,
    run_over,
    take_off,
)
from tests.scheduling.rounds.weeks import QUICK, day, shifts, visit, week

FORTNIGHT = week(*(visit(str(number), "abcdef"[number % 6], 60, is_outdoor=number % 2 == 0) for number in range(16)))


@pytest.fixture(scope="module")
def plan():
    return plan_rounds(FORTNIGHT, QUICK)


def test_nothing_changed_changes_nothing(plan):
    answer = replan(FORTNIGHT, plan, QUICK)

    assert answer.plan.rounds == plan.rounds
    assert (answer.changes, answer.moved, answer.stage) == ((), 0, "held")


def test_sick_crew_moves_only_its_own_visits(plan):
    gone = plan.rounds[0]
    answer = replan(take_off(FORTNIGHT, gone.crew, gone.day), plan, QUICK)

    assert answer.moved == 0
    assert answer.plan.unplaced == ()
    moved = {change.visit: change for change in answer.changes if change.kind == "moved"}
    assert set(moved) == set(gone.visits)
    assert all(change.was_hit and "not worked by" in change.why for change in moved.values())
    assert all((change.before.crew, change.before.day) == (gone.crew, gone.day) for change in moved.values())


def test_rain_moves_outdoor_work_and_nothing_else(plan):
    wet = plan.rounds[0].day
    answer = replan(mark_wet(FORTNIGHT, wet), plan, QUICK)

    outdoor = {each for each, (_, on) in plan.places.items() if on == wet and int(each) % 2 == 0}
    assert {change.visit for change in answer.changes if change.kind == "moved"} == outdoor
    assert all(change.why == "the day is marked wet" for change in answer.changes if change.kind == "moved")


def test_called_off_visit_is_told_and_leaves_the_rest(plan):
    answer = replan(call_off(FORTNIGHT, "3"), plan, QUICK)

    assert [(change.visit, change.kind, change.why) for change in answer.changes if change.kind != "retimed"] == [
        ("3", "called_off", "no longer asked for")
    ]


def test_urgent_visit_bumps_one_that_can_wait():
    # North's only shift before the urgent one closes is full; one of its visits has all week.
    waiting = [visit(str(number), "yard", 240, closes=day(0 if number == 0 else 4)) for number in range(2)]
    before_problem = week(*waiting, crew_days=shifts(("north",)))
    locked_in = plan_rounds(replace(before_problem, crew_days=shifts(("north",), [0])), QUICK)
    urgent = visit("urgent", "yard", 240, closes=day(0), is_urgent=True)

    answer = replan(ask_for(before_problem, urgent), locked_in, QUICK)

    assert answer.stage == "bumped"
    assert answer.plan.places["urgent"] == ("north", day(0))
    assert answer.moved == 1
    moved = next(change for change in answer.changes if change.kind == "moved")
    assert (moved.visit, moved.why, moved.was_hit) == ("1", "made room for urgent", False)


def test_urgent_visit_displaces_an_ordinary_one_where_nothing_else_is_left():
    full = [visit(str(number), "yard", 240, closes=day(0)) for number in range(2)]
    problem = week(*full, crew_days=shifts(("north",), [0]))
    plan = plan_rounds(problem, QUICK)

    answer = replan(ask_for(problem, visit("urgent", "yard", 240, closes=day(0), is_urgent=True)), plan, QUICK)

    assert answer.plan.places["urgent"] == ("north", day(0))
    assert [(change.kind, change.why) for change in answer.changes if change.kind == "dropped"] == [
        ("dropped", "made room for urgent")
    ]


def test_promised_visits_do_not_move_for_anything(plan):
    promised = lock_as_planned(FORTNIGHT, plan, ["0", "5"])
    crowded = ask_for(promised, visit("urgent", "f", 300, closes=day(1), is_urgent=True))

    answer = replan(crowded, plan, QUICK)

    for key in ("0", "5"):
        assert answer.plan.places[key] == plan.places[key]
        assert answer.plan.stops[key].starts == plan.stops[key].starts


def test_overrun_sends_the_crew_on_from_where_it_is(plan):
    today = next(each for each in plan.rounds if len(each.stops) > 1)
    first = today.stops[0]

    late = run_over(FORTNIGHT, plan, first.visit, first.ends + 20)
    answer = replan(late, plan, QUICK)

    assert first.visit not in answer.plan.places
    rest = answer.plan.round_of(today.crew, today.day)
    assert rest is not None
    assert rest.stops[0].arrives >= first.ends + 20
    assert [stop.visit for stop in rest.stops] == list(today.visits[1:])


def test_overrun_too_long_for_the_day_moves_one_visit_on(plan):
    today = next(each for each in plan.rounds if len(each.stops) > 1)
    first = today.stops[0]
    over = 1020 - today.returns + 15

    answer = replan(run_over(FORTNIGHT, plan, first.visit, first.ends + over), plan, QUICK)

    moved = [change for change in answer.changes if change.kind == "moved"]
    assert len(moved) == 1
    assert moved[0].why == f"the round of North on {today.day.day} March 2025 is 15 min too long now"
    assert answer.plan.unplaced == ()


def test_visit_with_no_place_left_is_dropped_with_its_reason():
    problem = week(visit("1", "a", 60, closes=day(0)), crew_days=shifts(("north",)))
    plan = plan_rounds(problem, QUICK)

    answer = replan(take_off(problem, "north", day(0)), plan, QUICK)

    assert [(change.visit, change.kind) for change in answer.changes] == [("1", "dropped")]
    assert answer.plan.unplaced[0].code == "no_shift"


def test_new_lock_goes_where_it_was_promised(plan):
    free = next(
        (crew, on)
        for on in [day(number) for number in range(5)]
        for crew in ("north", "south")
        if plan.round_of(crew, on) is None
    )
    promised = visit("new", "b", 60, lock=Lock(crew=free[0], day=free[1], start=600))

    answer = replan(ask_for(FORTNIGHT, promised), plan, QUICK)

    assert answer.plan.places["new"] == free
    assert answer.plan.stops["new"].starts == 600
    assert answer.moved == 0


def test_stopped_replan_hands_back_a_sound_plan(plan):
    gone = plan.rounds[0]
    answer = replan(take_off(FORTNIGHT, gone.crew, gone.day), plan, Effort(seconds=5, should_stop=lambda: True))

    assert len(answer.plan.places) + len(answer.plan.unplaced) == len(FORTNIGHT.visits)


def test_hit_visits_share_the_best_part_by_a_second_choice():
    # Day 1 is wet for both. One shift is left on their best day 2, room for one alone; day 4 is best for the second.
    # One by one the first takes day 2 (less driving); together both come into their best part.
    first = visit("1", "a", 240, best_from=day(2), best_until=day(4), is_outdoor=True)
    second = visit("2", "a", 250, best_from=day(2), best_until=day(2), is_outdoor=True)
    held = [visit(f"held {number}", "a", 180, opens=day(number), closes=day(number)) for number in (2,)]
    problem = week(first, second, *held, crew_days=shifts(("north",), (1, 2, 4)))
    before = plan_rounds(
        replace(problem, visits=(replace(first, closes=day(1)), replace(second, closes=day(1)), *held)), QUICK
    )
    in_shift = [key for key, place in before.places.items() if place[1] == day(1)]

    answer = replan(mark_wet(problem, day(1)), before, QUICK)

    assert in_shift
    assert answer.plan.stops["2"].is_best
    assert answer.plan.stops["1"].is_best
    assert answer.moved == 0


def test_a_visit_that_fits_no_day_sets_nothing_else_going(plan):
    hopeless = visit("hopeless", "b", 60, weekdays=frozenset({6}))

    answer = replan(ask_for(FORTNIGHT, hopeless), plan, QUICK)

    assert answer.stage == "held"
    assert answer.moved == 0
    assert [each.visit for each in answer.plan.unplaced] == ["hopeless"]


def test_a_replan_tells_how_far_it_is(plan):
    gone = plan.rounds[0]
    told = []
    replan(take_off(FORTNIGHT, gone.crew, gone.day), plan, replace(QUICK, on_progress=told.append))

    assert told[0].stage == "looking for room without moving another visit"
    assert told[0].placed == len(FORTNIGHT.visits) - len(gone.visits)
    assert told[0].asked == len(FORTNIGHT.visits)
