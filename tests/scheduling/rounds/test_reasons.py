"""A visit left out says which rule binds and what would free it."""

from scheduling.rounds import plan_rounds
from tests.scheduling.rounds.weeks import QUICK, day, shifts, visit, week


def left_out(*visits, key: str, **more):
    plan = plan_rounds(week(*visits, **more), QUICK)
    return next(each for each in plan.unplaced if each.visit == key)


def test_full_crews_are_named_with_the_first_day_with_room():
    early = [
        visit(f"full {number}", "yard", 250, closes=day(1), skills=frozenset({"ladder"}), is_urgent=True)
        for number in range(4)
    ]
    late = visit("late", "a", 60, closes=day(1), skills=frozenset({"ladder"}))

    reason = left_out(*early, late, key="late")

    assert reason.code == "day_full"
    assert reason.why == ("late: closes 4 March 2025, all crews with ladder (North) are full until 5 March 2025")
    assert reason.freed_by[0] == "Let it close on 5 March 2025: North has room then."
    assert [(miss.crew, miss.day, miss.minutes_short) for miss in reason.nearest] == [
        ("north", day(0), 90),
        ("north", day(1), 90),
    ]


def test_bumping_names_the_visit_with_most_time_left():
    full = [visit(str(number), "yard", 170, closes=day(0), is_urgent=True) for number in range(2)]
    patient = visit(
        "patient",
        "yard",
        170,
        closes=day(4),
        opens=day(0),
        blocked=frozenset({day(1), day(2), day(3)}),
        is_urgent=True,
        weekdays=frozenset({0}),
    )
    reason = left_out(*full, patient, visit("new", "yard", 170, closes=day(0)), key="new", crew_days=shifts(("north",)))

    assert "Move patient (closes 7 March 2025) off North's 3 March 2025." in reason.freed_by


def test_missing_skill_is_named_with_who_lacks_it():
    reason = left_out(visit("spray", skills=frozenset({"spraying"})), key="spray")

    assert reason.code == "skill"
    assert "North lacks spraying" in reason.why
    assert "Train a crew for spraying" in reason.freed_by[0]


def test_too_few_hands_are_named():
    reason = left_out(visit("heavy", crew_size=3), key="heavy")

    assert reason.code == "crew_size"
    assert "North is 2, the work takes 3" in reason.why


def test_load_beyond_every_vehicle_is_named():
    reason = left_out(visit("posts", loads={"posts": 9}), key="posts")

    assert reason.code == "load"
    assert "North can carry 4 posts, it needs 9" in reason.why


def test_vehicles_that_are_full_are_the_reason():
    stock = [visit(str(number), "yard", 30, closes=day(0), loads={"posts": 2}, is_urgent=True) for number in range(3)]
    reason = left_out(*stock, visit("more", "yard", 30, closes=day(0), loads={"posts": 2}), key="more")

    assert reason.code == "load"
    assert "the vehicle of North is full on 3 March 2025" in reason.why


def test_limit_of_visits_is_the_reason():
    days = shifts(("north",), [0], most_visits=1)
    reason = left_out(visit("1", is_urgent=True), visit("2"), key="2", crew_days=days)

    assert reason.code == "most_visits"
    assert "all the visits allowed on 3 March 2025" in reason.why


def test_hours_another_visit_takes_are_not_called_a_short_shift():
    noon = {"hours": ((540, 660),), "closes": day(0)}
    reason = left_out(
        visit("1", minutes=100, is_urgent=True, **noon),
        visit("2", minutes=100, **noon),
        key="2",
        crew_days=shifts(("north",), [0]),
    )

    assert reason.code == "day_full"
    assert reason.freed_by[0].startswith("Widen the client's hours")


def test_wet_days_are_the_reason_for_outdoor_work():
    wet = frozenset({day(0), day(1)})
    reason = left_out(visit("out", closes=day(1), is_outdoor=True), key="out", wet_days=wet)

    assert reason.code == "wet"
    assert "3 March 2025, 4 March 2025" in reason.why


def test_access_days_that_miss_the_window_are_named():
    reason = left_out(visit("shut", closes=day(1), weekdays=frozenset({4})), key="shut")

    assert reason.code == "no_open_day"
    assert "gives no access" in reason.why


def test_window_outside_the_horizon_is_named():
    reason = left_out(visit("next", opens=day(10), closes=day(12)), key="next")

    assert reason.code == "outside_horizon"


def test_days_nobody_works_are_named():
    reason = left_out(visit("1", closes=day(0)), key="1", crew_days=shifts(days=[2]))

    assert reason.code == "no_shift"


def test_client_hours_that_meet_no_shift_are_named():
    reason = left_out(visit("dawn", hours=((300, 400),)), key="dawn")

    assert reason.code == "hours"
    assert "05:00 to 06:40" in reason.why
    assert "North on 3 March 2025 is 160 min short" in reason.why
