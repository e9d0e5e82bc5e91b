"""A visit moved by hand: the answer, the move, and what stands against it."""

from __future__ import annotations

from datetime import date, time

import pytest

from business.errors import BadInput, Stale
from scheduling.models import Plan, Round, Shift, Unplaced, Visit
from scheduling.services.moves import Wanted, answer_move, move_visit, neighbours
from scheduling.services.placements import outline, placement
from scheduling.services.rounds import take_back
from scheduling.services.visits import confirm_visit, finish_visit, fix_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY, NEXT = date(2027, 1, 12), date(2027, 1, 13)


@pytest.fixture(autouse=True)
def morning_before(time_machine):
    time_machine.move_to("2027-01-11 12:00:00+00:00", tick=False)
    make.profile()


@pytest.fixture
def crew():
    return make_garden.crew(name="North")


@pytest.fixture
def visits(crew):
    return [
        make_garden.visit(
            site=make_garden.site(latitude_deg=51.03 + 0.02 * number),
            on=DAY,
            crew=crew,
            position=number + 1,
            arrives_at=time(9 + 2 * number),
            leaves_at=time(10 + 2 * number, 15),
            preferred_crew=crew,
        )
        for number in range(2)
    ]


def fresh(visit: Visit) -> Visit:
    return Visit.objects.select_related("round__crew", "site").get(pk=visit.pk)


def test_the_answer_tells_times_and_stores_nothing(visits, crew):
    answer = answer_move(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT))

    assert answer.is_allowed
    assert "North on 13 January 2027" in answer.why
    assert [stop.is_moved for stop in answer.stops] == [True]
    assert fresh(visits[0]).on == DAY
    assert not Plan.objects.exists()


def test_a_visit_moves_and_its_round_closes_up(visits, crew):
    move_visit(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT), revision=0)

    moved, left = fresh(visits[0]), fresh(visits[1])
    assert (moved.on, moved.position, moved.revision) == (NEXT, 1, 1)
    assert (left.on, left.position, left.revision) == (DAY, 1, 1)
    assert left.arrives_at < time(11)
    assert Round.objects.get(on=DAY).drive_minutes == Visit.objects.get(pk=left.pk).drive_minutes * 2


def test_a_move_is_taken_back_with_its_rounds(visits, crew):
    kept = Round.objects.get()
    before = [placement(fresh(visit)) for visit in visits], outline(kept)
    plan = move_visit(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT), revision=0)

    take_back(plan_id=plan.pk)

    assert ([placement(fresh(visit)) for visit in visits], outline(Round.objects.get())) == before


def test_the_last_becomes_the_first(visits, crew):
    wanted = neighbours(fresh(visits[1]), -1)
    move_visit(visit_id=visits[1].pk, wanted=wanted, revision=0)

    assert [fresh(visit).position for visit in visits] == [2, 1]
    with pytest.raises(BadInput, match="is the first already"):
        neighbours(fresh(visits[1]), -1)
    with pytest.raises(BadInput, match="is on no round"):
        neighbours(make_garden.visit(), 1)


def test_a_suggested_visit_gets_a_day_by_hand(crew):
    lost = make_garden.visit()
    Unplaced.objects.create(visit=lost, code="day_full", why="full")

    move_visit(visit_id=lost.pk, wanted=Wanted(crew_id=crew.pk, day=DAY), revision=0)

    assert (fresh(lost).state, fresh(lost).on) == (Visit.State.PLANNED, DAY)
    assert not Unplaced.objects.exists()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"closes": DAY, "best_until": DAY, "best_from": DAY}, "its days are"),
        ({"skills": ["climbing"]}, "lacks climbing"),
        ({"crew_size": 5}, "the work takes 5"),
        ({"weather_rules": ["D24"]}, "marked wet"),
        ({"minutes": 1400}, "after the end of the shift"),
    ],
)
def test_a_rule_stops_a_move_and_says_why(visits, crew, change, reason):
    Visit.objects.filter(pk=visits[0].pk).update(**change)
    make_garden.shift(crew=crew, on=NEXT, is_wet=True)
    wanted = Wanted(crew_id=crew.pk, day=NEXT)

    answer = answer_move(visit_id=visits[0].pk, wanted=wanted)
    assert not answer.is_allowed
    assert reason in answer.why
    with pytest.raises(BadInput, match=reason):
        move_visit(visit_id=visits[0].pk, wanted=wanted, revision=0)
    assert fresh(visits[0]).on == DAY


def test_a_day_off_and_a_day_gone_are_refused(visits, crew):
    make_garden.shift(crew=crew, on=NEXT, is_off=True)

    assert "does not work" in answer_move(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT)).why
    past = answer_move(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=date(2027, 1, 8)))
    assert "is over" in past.why
    with pytest.raises(BadInput, match="not at work"):
        answer_move(visit_id=visits[0].pk, wanted=Wanted(crew_id=0, day=NEXT))


def test_fixed_and_finished_visits_do_not_move(visits, crew):
    fix_visit(visit_id=visits[0].pk, is_locked=True)
    finish_visit(visit_id=visits[1].pk)

    for visit, words in ((visits[0], "is fixed"), (visits[1], "is finished")):
        with pytest.raises(BadInput, match=words):
            move_visit(visit_id=visit.pk, wanted=Wanted(crew_id=crew.pk, day=NEXT), revision=None)


def test_a_stale_move_is_refused(visits, crew):
    confirm_visit(visit_id=visits[0].pk)

    with pytest.raises(Stale, match="somebody else"):
        move_visit(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT), revision=0)
    assert fresh(visits[0]).on == DAY


def test_an_agreed_visit_needs_agreeing_anew(visits, crew):
    confirm_visit(visit_id=visits[0].pk)
    wanted = Wanted(crew_id=crew.pk, day=NEXT)

    assert any(
        "agreed to 12 January" in wish for wish in answer_move(visit_id=visits[0].pk, wanted=wanted).wishes_missed
    )
    move_visit(visit_id=visits[0].pk, wanted=wanted, revision=1)

    assert fresh(visits[0]).state == Visit.State.PLANNED


def test_the_promise_to_another_client_is_kept(visits, crew):
    confirm_visit(visit_id=visits[1].pk)
    extra = make_garden.visit(minutes=200)

    first = answer_move(visit_id=extra.pk, wanted=Wanted(crew_id=crew.pk, day=DAY, position=1))

    assert not first.is_allowed
    assert "promised for a fixed time" in first.why


def test_asking_lays_the_usual_shift_once(visits, crew):
    for _ in range(2):
        answer_move(visit_id=visits[0].pk, wanted=Wanted(crew_id=crew.pk, day=NEXT))

    assert Shift.objects.filter(crew=crew, on=NEXT).count() == 1
