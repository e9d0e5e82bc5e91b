"""What work really takes, learned from finished visits."""

from __future__ import annotations

from datetime import date
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business import clock
from scheduling.models import Task, Visit
from scheduling.queries.durations import (
    SETUP_MINUTES,
    Pace,
    Ratio,
    Worked,
    learned_pace,
    pace_from,
    worked_visits,
)
from scheduling.services.packing import pack_need
from scheduling.services.round_problem import minutes_with
from tests import make, make_garden
from tests.scheduling.services.test_field_sync import DAY, Pocket

TODAY = date(2027, 3, 1)


def worked(taken, crew=1, **reckoned):
    return Worked(crew=crew, taken=taken, reckoned=reckoned or {"winter_prune": 100.0})


def test_seven_visits_are_too_few_and_eight_are_enough():
    visits = [worked(130.0)] * 7

    assert pace_from(visits) == Pace()
    assert pace_from([*visits, worked(130.0)]).of_kind("winter_prune") == 1.3


def test_one_forgotten_clock_changes_nothing():
    visits = [worked(110.0)] * 9

    assert pace_from([*visits, worked(1400.0)]).kinds["winter_prune"].factor == 1.1


@given(st.lists(st.floats(20, 400), min_size=8, max_size=40))
def test_the_factor_is_the_median_within_bounds(taken):
    found = pace_from([worked(minutes) for minutes in taken]).kinds["winter_prune"]

    middle = median(minutes / 100 for minutes in taken)
    assert found.factor == round(min(2.0, max(0.5, middle)), 2)
    assert found.was_held == (not 0.5 <= middle <= 2.0)
    assert found.visits == len(taken)


def test_a_mixed_visit_speaks_for_no_kind():
    mixed = [worked(200.0, winter_prune=60.0, tie_in=40.0)] * 10

    pace = pace_from(mixed)

    assert pace.kinds == {}
    assert pace.of_crew(1) == 2.0


def test_a_slow_crew_is_told_from_a_slow_kind():
    both = [worked(120.0, crew=1)] * 12 + [worked(180.0, crew=2)] * 8

    pace = pace_from(both)

    assert pace.of_kind("winter_prune") == 1.2
    assert (pace.of_crew(1), pace.of_crew(2)) == (1.0, 1.5)
    assert pace.of_crew(3) == pace.of_kind("tie_in") == 1.0


def test_the_factor_explains_itself():
    why = pace_from([worked(110.0)] * 8).kinds["winter_prune"].why

    assert why == (
        "8 finished visits: the middle one took 1.10 times what was reckoned, half of them between 1.10 and 1.10."
    )
    assert "look at the clocks" in pace_from([worked(900.0)] * 8).kinds["winter_prune"].why


@pytest.mark.django_db
def test_finished_visits_are_read_with_set_up_taken_off():
    make.profile()
    crew = make_garden.crew(size=2)
    for number in range(8):
        need = make_garden.need(minutes=120.0)
        visit = make_garden.visit(needs=(need,), on=TODAY, crew=crew, position=number + 1)
        Task.objects.filter(work_order__visit=visit).update(state="done", answered_at=clock.now())
        # Two people share 120 minutes: an hour of work, which took an hour and a half.
        Visit.objects.filter(pk=visit.pk).update(
            state="finished", finished_at=clock.now(), minutes_taken=SETUP_MINUTES + 90
        )

    pace = learned_pace(TODAY)

    assert pace.of_kind("winter_prune") == 1.5
    assert pace.of_crew(crew.pk) == 1.0


@pytest.mark.django_db
def test_work_that_was_not_done_took_no_time():
    make.profile()
    visit = make_garden.visit(needs=(make_garden.need(),), on=TODAY)
    Visit.objects.filter(pk=visit.pk).update(state="finished", finished_at=clock.now(), minutes_taken=90)

    assert learned_pace(TODAY) == Pace()


@pytest.mark.django_db
def test_planned_minutes_follow_the_factors():
    ratio = Ratio(factor=1.5, visits=9, middle_half=(1.4, 1.6))
    need = make_garden.need(minutes=100.0)
    crew = make_garden.crew(size=2)
    visit = make_garden.visit(minutes=SETUP_MINUTES + 40)

    assert pack_need([need], 2).minutes == 50
    assert pack_need([need], 2, Pace(kinds={"winter_prune": ratio})).minutes == 75
    assert minutes_with(visit, crew, 2) == SETUP_MINUTES + 40
    assert minutes_with(visit, crew, 2, Pace(crews={crew.pk: ratio})) == SETUP_MINUTES + 60


@pytest.mark.django_db
def test_what_phones_say_is_what_is_learned_from(crew):
    # The whole way: jobs answered and the visit finished on a phone, the minutes there in the factor here.
    make.profile()
    team = make_garden.crew(size=1, members=(crew,))
    for number in range(8):
        visit = make_garden.visit(needs=(make_garden.need(minutes=60.0),), on=DAY, crew=team, position=number + 1)
        pocket = Pocket(crew, visit)
        task = visit.work_order.tasks.get()
        taken = 1440 if number == 0 else SETUP_MINUTES + 72  # one clock ran through the night
        receipts = pocket.send(
            pocket.act("started", visit),
            pocket.answer("done", task, visit),
            pocket.act("finished", visit, value={"minutes": taken}),
        )
        assert [receipt.result for receipt in receipts] == ["accepted"] * 3

    pace = learned_pace(DAY)

    assert pace.of_kind("winter_prune") == 1.2
    assert pace.kinds["winter_prune"].visits == 8


@pytest.mark.django_db
def test_a_visit_finished_without_its_minutes_teaches_nothing(crew):
    make.profile()
    visit = make_garden.visit(needs=(make_garden.need(minutes=60.0),), on=DAY, crew=make_garden.crew(members=(crew,)))
    pocket = Pocket(crew, visit)
    pocket.send(pocket.answer("done", visit.work_order.tasks.get(), visit), pocket.act("finished", visit))

    assert Visit.objects.get(pk=visit.pk).state == "finished"
    assert worked_visits(DAY) == []
