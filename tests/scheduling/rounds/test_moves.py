from scheduling.rounds import (
    Lock,
    Move,
    check_move,
    cost_of_adding,
    gain_from_crew_time,
    plan_rounds,
    replan,
)
from tests.scheduling.rounds.weeks import QUICK, day, shifts, visit, week

PROBLEM = week(
    visit("1", "a", 60, closes=day(0)),
    visit("2", "b", 60, skills=frozenset({"ladder"}), best_from=day(0), best_until=day(1)),
    visit("3", "c", 60, lock=Lock(crew="south", day=day(2), start=600)),
    visit("4", "d", 60, hours=((480, 720),), known_crew="north"),
)
PLAN = plan_rounds(PROBLEM, QUICK)


def answer(key: str, crew: str, number: int, position: int | None = None):
    return check_move(PROBLEM, PLAN, Move(visit=key, crew=crew, day=day(number), position=position))


def test_move_that_fits_shows_the_new_times():
    found = answer("2", "north", 3)

    assert found.is_allowed
    assert found.why == "2: North on 6 March 2025, 08:40 to 09:40; back at 10:20."
    assert found.wishes_missed == ("Outside its best part, 3 March 2025 to 4 March 2025.",)


def test_move_tells_how_the_driving_changes():
    found = answer("2", "north", 3)

    before = sum(each.drive_minutes for each in PLAN.rounds)
    after = plan_rounds(PROBLEM, QUICK).numbers.drive_minutes
    assert after == before
    old = PLAN.round_of(*PLAN.places["2"])
    left = found.round_from.drive_minutes if found.round_from else 0
    assert found.drive_change == found.round_to.drive_minutes + left - old.drive_minutes


def test_move_against_a_rule_says_which():
    assert answer("2", "south", 1).why == "2: South lacks ladder."
    assert answer("1", "north", 3).why == "1: its days are 3 March 2025 to 3 March 2025."
    assert answer("3", "north", 2).why == "3 is locked; unlock it first."
    assert answer("9", "north", 2).code == "bad_input"
    assert check_move(PROBLEM, PLAN, Move(visit="1", crew="north", day=day(6))).code == "no_shift"


def test_position_decides_and_lateness_is_counted():
    late = answer("4", "south", 2, position=1)

    # After the locked visit at c (10:00 to 11:00) South reaches d at 11:20 and would end at 12:20, hours end at 12:00.
    assert (late.is_allowed, late.code) == (False, "hours")
    assert late.why == "4 would run 20 min past the client's hours on 5 March 2025."
    first = answer("4", "south", 2, position=0)
    assert (first.is_allowed, first.code) == (False, "lock")
    assert "promised for a fixed time" in first.why


def test_unknown_crew_is_a_wish_not_a_rule():
    found = answer("4", "south", 1)

    assert found.is_allowed
    assert found.wishes_missed == ("The client knows North.",)


def test_cost_of_one_more_visit_counts_the_detour():
    # South is at c on Wednesday: a visit at b lies on the way and costs no driving.
    options = cost_of_adding(PROBLEM, PLAN, visit("new", "b", 30, opens=day(2), closes=day(2)))

    assert options[0].crew == "south"
    assert options[0].extra_drive == 0
    # By hand: it leaves at 8:00 instead of 9:00, for c is promised for 10:00.
    assert (options[0].starts, options[0].extra_minutes) == (520, 60)
    assert [option.extra_drive for option in options] == sorted(option.extra_drive for option in options)


def test_no_place_for_one_more_is_an_empty_answer():
    assert cost_of_adding(PROBLEM, PLAN, visit("new", "b", 900)) == ()
    assert cost_of_adding(PROBLEM, PLAN, visit("new", "nowhere")) == ()


def test_half_a_day_more_names_the_visits_it_serves():
    full = week(
        *(visit(str(number), "yard", 240, closes=day(0)) for number in range(3)), crew_days=shifts(("north",), [0])
    )
    plan = plan_rounds(full, QUICK)

    gains = gain_from_crew_time(full, plan)

    assert len(plan.unplaced) == 1
    assert gains[0].visits == (plan.unplaced[0].visit,)
    assert "would serve" in gains[0].why
    assert gain_from_crew_time(PROBLEM, PLAN) == ()


def test_allowed_move_can_be_locked_and_replanned():
    moved = visit("2", "b", 60, skills=frozenset({"ladder"}), lock=Lock(crew="north", day=day(3)))
    problem = week(*(moved if each.id == "2" else each for each in PROBLEM.visits))

    assert replan(problem, PLAN, QUICK).plan.places["2"] == ("north", day(3))
