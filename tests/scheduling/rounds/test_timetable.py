from dataclasses import replace

import pytest

from scheduling.rounds import CrewDay, Lock, Round
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.timetable import Trouble, timetable
from tests.scheduling.rounds.weeks import day, shifts, visit, week


def walk(*visits, **shift) -> Round | Trouble:
    given = CrewDay(crew="north", day=day(0), **({"starts": 480, "ends": 1020} | shift))
    lookup = Lookup(week(*visits, crew_days=(given,)))
    return timetable(lookup, lookup.crew_days["north", day(0)], [each.id for each in visits])


def test_times_follow_from_drive_and_work():
    # By hand: leave 8:00, 20 min to a, an hour's work, 40 min to c, half an hour, an hour home.
    found = walk(visit("1", "a", 60), visit("2", "c", 30))

    assert [(stop.arrives, stop.starts, stop.ends) for stop in found.stops] == [(500, 500, 560), (600, 600, 630)]
    assert (found.leaves, found.returns, found.drive_minutes, found.work_minutes) == (480, 690, 120, 90)


def test_break_falls_between_two_stops():
    found = walk(visit("1", "a", 200), visit("2", "a", 200))

    assert found.break_at == 700
    assert [(stop.starts, stop.ends) for stop in found.stops] == [(500, 700), (730, 930)]


def test_break_interrupts_work_that_outlasts_its_span():
    found = walk(visit("1", "a", 400))

    assert found.break_at == 690
    assert (found.stops[0].starts, found.stops[0].ends, found.returns) == (500, 930, 950)


def test_break_uses_a_wait_for_the_client():
    found = walk(visit("1", "a", 200), visit("2", "a", 120, hours=((750, 900),)))

    assert found.break_at == 700
    assert [stop.starts for stop in found.stops] == [500, 750]


def test_six_hours_out_call_for_a_break():
    found = walk(visit("1", "a", 330), starts=420)

    assert found.break_at is not None


def test_short_day_has_no_break():
    found = walk(visit("1", "a", 60), ends=720)

    assert found.break_at is None
    assert found.returns == 580


def test_break_never_makes_a_promised_start_late():
    # Promised for 12:00; the morning ends at 11:40, so that a break before it would come too late.
    found = walk(visit("1", "a", 200), visit("2", "a", 120, lock=Lock(crew="north", day=day(0), start=720)))

    assert found.stops[1].starts == 720
    assert found.break_at >= 720


def test_round_too_long_says_by_how_much():
    found = walk(visit("1", "a", 520), break_minutes=0)

    assert found == Trouble("shift", "", 20)


def test_client_hours_hold_the_whole_visit():
    found = walk(visit("1", "a", 60, hours=((480, 540),)))

    assert found == Trouble("hours", "1", 20)


def test_wait_before_the_first_stop_is_spent_at_the_yard():
    found = walk(visit("1", "a", 60, hours=((540, 660),)))

    assert (found.leaves, found.stops[0].arrives, found.stops[0].starts) == (520, 540, 540)


@pytest.mark.parametrize(("posts", "expected"), [(2, Round), (3, Trouble)])
def test_vehicle_takes_no_more_than_it_can_carry(posts, expected):
    found = walk(visit("1", "a", loads={"posts": 2}), visit("2", "a", loads={"posts": posts}))

    assert isinstance(found, expected)


def test_limit_of_visits_a_day_is_kept():
    assert walk(visit("1"), visit("2"), most_visits=1) == Trouble("most_visits", "", 1)


def test_daylight_cuts_the_shift_to_the_nearest_drive():
    problem = week(visit("1", "b", 60), crew_days=shifts(("north",), range(1)), daylight={day(0): (500, 900)})
    cut = Lookup(problem).crew_days["north", day(0)]

    # The nearest stop is 40 min away: leaving at 7:40 would still arrive in the light, the shift starts at 8:00.
    assert (cut.starts, cut.ends) == (480, 940)
    late = Lookup(replace(problem, daylight={day(0): (560, 900)})).crew_days["north", day(0)]
    assert (late.starts, late.ends) == (520, 940)
