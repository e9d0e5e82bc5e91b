"""What is wrong is named with what would help; the rest is planned all the same."""

from dataclasses import replace

import pytest

from scheduling.rounds import Crew, Lock, VisitRequest, plan_rounds
from tests.scheduling.rounds.weeks import NORTH, QUICK, SOUTH, day, shifts, visit, week

GOOD = visit("good", "a", 60)


def plan_of(*visits: VisitRequest, **more):
    plan = plan_rounds(week(GOOD, *visits, **more), QUICK)
    assert "good" in plan.places, "the rest must still be planned"
    return plan


def fault_in(plan, where: str):
    return next(fault for fault in plan.faults if where in fault.where)


def test_shift_that_ends_before_it_starts_is_named():
    wrong = replace(shifts(("south",), [1])[0], starts=990, ends=480)
    plan = plan_of(crew_days=(*shifts(("north",)), wrong))

    fault = fault_in(plan, "shift of South on 4 March 2025")
    assert fault.wrong == "ends at 08:00 before it starts at 16:30"
    assert "swap" in fault.remedy


def test_site_without_a_place_is_named():
    plan = plan_of(visit("lost", "nowhere"))

    assert fault_in(plan, "visit lost").wrong == "its garden has no place on the map"
    assert [(each.visit, each.code) for each in plan.unplaced] == [("lost", "bad_input")]


def test_visit_longer_than_any_shift_is_named():
    plan = plan_of(visit("long", "a", 900))

    assert fault_in(plan, "visit long").wrong == "takes 900 min, the longest shift has 510 min"
    assert plan.unplaced[0].code == "too_long"
    assert "split" in plan.unplaced[0].freed_by[0]


def test_locked_visit_on_a_holiday_is_named():
    plan = plan_of(visit("promised", lock=Lock(crew="north", day=day(2))), holidays=frozenset({day(2)}))

    fault = fault_in(plan, "visit promised")
    assert fault.wrong == "is locked on 5 March 2025, a holiday"
    assert plan.places["good"][1] != day(2)


@pytest.mark.parametrize(
    ("lock", "wrong"),
    [
        (Lock(crew="north", day=day(4)), "North does not work"),
        (Lock(crew="north", day=day(30)), "outside the planned days"),
        (Lock(crew="ghost", day=day(0)), "'ghost', which cannot be planned"),
        (Lock(crew="north", day=day(0), start=1000), "does not fit the shift"),
    ],
)
def test_lock_that_cannot_be_kept_is_named(lock, wrong):
    plan = plan_of(visit("promised", lock=lock), crew_days=shifts(days=range(4)))

    assert wrong in fault_in(plan, "visit promised").wrong


def test_locks_that_clash_keep_the_first():
    at_nine = Lock(crew="north", day=day(0), start=540)
    plan = plan_of(visit("one", "a", 120, lock=at_nine), visit("two", "d", 60, lock=replace(at_nine, start=600)))

    assert plan.places["one"] == ("north", day(0))
    assert "clashes" in fault_in(plan, "visit two").wrong


def test_lock_against_a_rule_is_kept_and_said():
    plan = plan_of(visit("high", skills=frozenset({"ladder"}), lock=Lock(crew="south", day=day(0))))

    assert plan.places["high"] == ("south", day(0))
    assert fault_in(plan, "visit high").wrong == "is locked against a rule: South lacks ladder"


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"closes": day(-1)}, "before it opens"),
        ({"minutes": 0}, "takes 0 min"),
        ({"hours": ((600, 500),)}, "before 10:00"),
        ({"hours": ((600, 630),)}, "the client's hours are 30 min"),
    ],
)
def test_visit_that_cannot_be_is_named(changed, wrong):
    plan = plan_of(visit("odd", **changed))

    assert wrong in fault_in(plan, "visit odd").wrong


def test_what_is_listed_twice_is_named_once():
    problem_days = shifts()
    plan = plan_of(
        visit("same"), visit("same"), crews=(NORTH, SOUTH, NORTH), crew_days=(*problem_days, problem_days[0])
    )

    assert {fault.where for fault in plan.faults} == {
        "crew North",
        "shift of North on 3 March 2025",
        "visit same",
    }
    assert plan.unplaced == ()


def test_crew_without_a_place_takes_its_shifts_along():
    lost = Crew(id="south", label="South", start="moon")
    plan = plan_of(crews=(NORTH, lost))

    assert fault_in(plan, "crew South").wrong == "starts or ends at a yard without a place"
    assert {each.crew for each in plan.rounds} == {"north"}


def test_shift_no_longer_than_its_break_is_named():
    short = replace(shifts(("south",), [0])[0], starts=700, ends=725)
    plan = plan_of(crew_days=(*shifts(("north",)), short))

    assert "no longer than its break" in fault_in(plan, "shift of South").wrong


def test_shift_of_an_unknown_crew_is_named():
    plan = plan_of(crew_days=(*shifts(), *shifts(("ghost",), [0])))

    assert fault_in(plan, "shift of ghost").wrong == "belongs to no crew"
