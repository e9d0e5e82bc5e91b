"""Plans whose answer is sure: worked out by hand, or the same under a change that must not matter."""

import threading
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from scheduling.rounds import Crew, CrewDay, Effort, Horizon, Lock, TravelMatrix, Weights, plan_rounds
from tests.scheduling.rounds.weeks import NORTH, QUICK, SOUTH, day, line, shifts, visit, week

EXAMPLE = week(
    visit("1", "a", 60, known_crew="south"),
    visit("2", "b", 90, weekdays=frozenset({1, 3}), hours=((600, 900),)),
    visit("3", "c", 60, opens=day(2), skills=frozenset({"ladder"})),
    visit("4", "d", 60, lock=Lock(crew="south", day=day(3), start=780)),
)


def test_worked_week_drives_no_more_than_it_must():
    # On a line with 20-minute steps: North fetches b and c in one trip (120 min), South the locked d and a (160 min).
    plan = plan_rounds(EXAMPLE, QUICK)

    assert plan.unplaced == ()
    assert plan.numbers.drive_minutes == 280
    assert plan.places["4"] == ("south", day(3))
    assert plan.stops["4"].starts == 780
    assert plan.places["3"][0] == "north"
    assert plan.places["1"] == ("south", day(3))
    assert plan.places["2"][1].weekday() in {1, 3}
    assert 600 <= plan.stops["2"].starts <= 810


@pytest.mark.parametrize("seed", range(8))
def test_locked_visit_stays_whatever_the_seed(seed):
    plan = plan_rounds(EXAMPLE, replace(QUICK, seeds=(seed,), iterations=60))

    assert (*plan.places["4"], plan.stops["4"].starts) == ("south", day(3), 780)


def test_same_iterations_give_the_same_plan():
    assert plan_rounds(EXAMPLE, QUICK).rounds == plan_rounds(EXAMPLE, QUICK).rounds


def test_visits_at_the_yard_need_no_drive():
    plan = plan_rounds(week(*(visit(str(number), "yard", 50) for number in range(8))), QUICK)

    assert plan.numbers.drive_minutes == 0
    assert plan.numbers.placed == 8


def test_too_much_work_leaves_out_what_counts_least():
    # One shift of 510 min holds five visits of 100 min at the yard; the two with the smallest prizes stay out.
    visits = [visit(str(number), "yard", 100, prize=1000 + 10 * number) for number in range(7)]
    plan = plan_rounds(week(*visits, crew_days=shifts(("north",), range(1))), QUICK)

    assert {each.visit for each in plan.unplaced} == {"0", "1"}


def test_urgent_visits_come_before_ordinary_ones():
    visits = [visit(str(number), "yard", 100, is_urgent=number >= 4) for number in range(9)]
    plan = plan_rounds(week(*visits, crew_days=shifts(("north",), range(1))), QUICK)

    assert {"4", "5", "6", "7", "8"} == set(plan.places)


def test_other_names_of_crews_cost_the_same():
    swapped = replace(
        EXAMPLE,
        crews=(replace(NORTH, id="south"), replace(SOUTH, id="north")),
        crew_days=tuple(replace(each, crew="north" if each.crew == "south" else "south") for each in EXAMPLE.crew_days),
        visits=tuple(
            replace(each, lock=Lock(crew="north", day=day(3), start=780))
            if each.lock
            else replace(each, known_crew="north" if each.known_crew else "")
            for each in EXAMPLE.visits
        ),
    )

    assert plan_rounds(swapped, QUICK).numbers == plan_rounds(EXAMPLE, QUICK).numbers


def test_a_week_later_gives_the_same_plan_a_week_later():
    week_on = timedelta(days=7)
    later = replace(
        EXAMPLE,
        horizon=Horizon(first=EXAMPLE.horizon.first + week_on, days=5),
        crew_days=tuple(replace(each, day=each.day + week_on) for each in EXAMPLE.crew_days),
        visits=tuple(
            replace(
                each,
                opens=each.opens + week_on,
                closes=each.closes + week_on,
                lock=replace(each.lock, day=each.lock.day + week_on) if each.lock else None,
            )
            for each in EXAMPLE.visits
        ),
    )

    first, second = plan_rounds(EXAMPLE, QUICK), plan_rounds(later, QUICK)

    assert [(each.crew, each.day + week_on, each.stops) for each in first.rounds] == [
        (each.crew, each.day, each.stops) for each in second.rounds
    ]


def test_best_part_is_worth_a_detour_but_not_an_hour():
    near = visit("1", "a", 60)
    plan = plan_rounds(
        week(near, visit("2", "a", 60, best_from=day(4), best_until=day(4)), crew_days=shifts(("north",))), QUICK
    )

    assert plan.places["2"][1] == day(4)
    assert plan.numbers.best_share == 1.0


def test_wet_day_keeps_outdoor_work_away():
    problem = week(
        visit("out", "a", is_outdoor=True, opens=day(0), closes=day(1)),
        visit("in", "a", opens=day(0), closes=day(0)),
        wet_days=frozenset({day(0)}),
    )
    plan = plan_rounds(problem, QUICK)

    assert plan.places["out"][1] == day(1)
    assert plan.places["in"][1] == day(0)


def test_two_person_work_goes_to_two_people():
    plan = plan_rounds(
        week(*(visit(str(number), crew_size=2, opens=day(1), closes=day(1)) for number in range(4))), QUICK
    )

    assert {crew for crew, _ in plan.places.values()} == {"north"}


def test_posts_are_shared_out_over_vehicles():
    visits = [visit(str(number), "yard", 30, loads={"posts": 2}, closes=day(0)) for number in range(3)]
    plan = plan_rounds(week(*visits, crew_days=shifts(days=range(1))), QUICK)

    assert plan.unplaced == ()
    assert len(plan.round_of("north", day(0)).stops) == 2
    assert len(plan.round_of("south", day(0)).stops) == 1


def test_slower_crew_takes_its_own_minutes():
    problem = week(visit("1", "a", 60, minutes_for={"south": 110}), crew_days=shifts(("south",)))
    plan = plan_rounds(problem, QUICK)

    assert plan.stops["1"].ends - plan.stops["1"].starts == 110


def test_crew_starts_and_ends_at_home():
    home = Crew(id="north", start="f", end="e")
    plan = plan_rounds(week(visit("1", "e"), crews=(home,), crew_days=shifts(("north",), range(1))), QUICK)

    assert plan.numbers.drive_minutes == 20


def test_overtime_is_worked_only_where_allowed():
    long_day = visit("1", "a", 500)
    without = plan_rounds(week(long_day, crew_days=shifts(("north",), range(1))), QUICK)
    allowed = plan_rounds(week(long_day, crew_days=shifts(("north",), range(1), overtime_minutes=60)), QUICK)

    assert without.unplaced[0].code == "too_long"
    # By hand: 500 work + 40 drive + 30 break − 540 of shift.
    assert allowed.numbers.overtime_minutes == 30


def test_optional_visit_rides_along_but_makes_no_trip_of_its_own():
    near = visit("near", "b", 60, is_optional=True)
    far = visit("far", "f", 60, is_optional=True)
    plan = plan_rounds(week(visit("due", "b", closes=day(0)), near, far), QUICK)

    assert "near" in plan.places
    assert [each.code for each in plan.unplaced] == ["not_worth_it"]


def test_even_load_shares_a_full_day_between_crews():
    visits = [visit(str(number), "yard", 120, closes=day(0)) for number in range(4)]
    problem = week(*visits, crew_days=shifts(days=range(1)), weights=Weights(even_load=1))
    plan = plan_rounds(problem, QUICK)

    assert len(plan.rounds) == 2


def test_search_can_be_stopped_and_keeps_its_best():
    asked = []

    def stop() -> bool:
        asked.append(1)
        return True

    plan = plan_rounds(EXAMPLE, Effort(seconds=60.0, should_stop=stop))

    assert plan.was_stopped
    assert plan.seconds < 30
    assert plan.numbers.placed == 4
    assert asked


def test_progress_is_told_in_the_callers_thread():
    told = []
    plan_rounds(EXAMPLE, Effort(seconds=0.8, on_progress=lambda each: told.append((each, threading.current_thread()))))

    assert told
    assert {thread for _, thread in told} == {threading.current_thread()}
    assert all(each.asked == 4 and each.placed <= 4 for each, _ in told)


def test_earlier_plan_is_a_start_that_never_gets_worse():
    first = plan_rounds(EXAMPLE, QUICK)
    again = plan_rounds(EXAMPLE, replace(QUICK, iterations=2), start=first)

    assert again.numbers.placed == first.numbers.placed
    assert again.numbers.drive_minutes <= first.numbers.drive_minutes


def test_nothing_to_do_is_an_empty_plan():
    plan = plan_rounds(week(), QUICK)

    assert (plan.rounds, plan.unplaced, plan.faults) == ((), (), ())


def test_matrix_must_be_square_and_not_negative():
    with pytest.raises(ValueError, match="2 × 2"):
        TravelMatrix(("a", "b"), np.zeros((1, 2), dtype=np.int64), np.zeros((1, 2)))
    with pytest.raises(ValueError, match="negative"):
        TravelMatrix(("a",), np.array([[-1]]), np.zeros((1, 1)))


def test_every_stop_keeps_its_promises_in_a_crowded_week():
    random = np.random.default_rng(5)
    sites = line().places[1:]
    visits = [
        visit(
            str(number),
            str(random.choice(sites)),
            int(random.integers(2, 12)) * 15,
            opens=day(int(random.integers(0, 3))),
            closes=day(int(random.integers(3, 5))),
            hours=((480, 720),) if number % 4 == 0 else ((780, 1020),) if number % 4 == 1 else (),
            skills=frozenset({"ladder"}) if number % 5 == 0 else frozenset(),
        )
        for number in range(40)
    ]
    problem = week(*visits)
    plan = plan_rounds(problem, QUICK)

    asked = {each.id: each for each in visits}
    assert len(plan.places) + len(plan.unplaced) == 40
    for each in plan.rounds:
        now = each.leaves
        assert each.leaves >= 480
        assert each.returns <= 1020
        for stop in each.stops:
            request = asked[stop.visit]
            assert stop.arrives >= now + stop.drive_minutes
            assert request.opens <= each.day <= request.closes
            assert request.skills <= (NORTH if each.crew == "north" else SOUTH).skills
            assert not request.hours or request.hours[0][0] <= stop.starts <= stop.ends <= request.hours[0][1]
            now = stop.ends
        assert each.returns >= now
        paused = each.break_minutes
        assert each.returns - each.leaves >= each.work_minutes + each.drive_minutes + paused


def test_crew_day_is_named_by_crew_and_day():
    assert CrewDay(crew="north", day=day(0)).key == ("north", day(0))
