"""What is wrong in the book is named with what would help when rounds are laid; everything else is planned."""

from __future__ import annotations

from datetime import date, time

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import Plan, Shift, Unplaced, Visit
from scheduling.rounds import Effort
from scheduling.services import plan_runs, replanning
from scheduling.services.offers import accept_plan
from scheduling.services.plan_runs import start_laying, work_out_plan
from scheduling.services.replanning import rain_day
from scheduling.services.rounds import lay_rounds
from scheduling.services.visits import fix_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
FIRST, LAST = date(2027, 4, 1), date(2027, 4, 9)
GOOD_FRIDAY = date(2027, 3, 26)
SPAN = {"opens": FIRST, "best_from": FIRST, "best_until": LAST, "closes": LAST}
QUICK = Effort(seconds=None, iterations=40, seeds=(1,))


@pytest.fixture(autouse=True)
def morning(time_machine, monkeypatch):
    time_machine.move_to("2027-03-20 08:00:00+00:00", tick=False)
    monkeypatch.setattr(replanning, "USUAL_EFFORT", QUICK)
    monkeypatch.setattr(plan_runs, "later", lambda *_, **__: None)
    make.profile(country="GB")


@pytest.fixture
def crew():
    return make_garden.crew(name="North")


@pytest.fixture
def good(crew):
    return make_garden.visit(**SPAN)


def laid(first: date = FIRST, last: date = LAST) -> Plan:
    plan = start_laying(first_day=first, last_day=last, seconds=5)
    work_out_plan(plan_id=plan.pk)
    return accept_plan(plan_id=plan.pk)


def is_placed(visit: Visit) -> bool:
    return Visit.objects.get(pk=visit.pk).on is not None


def test_a_garden_without_a_place_is_named(good):
    lost = make_garden.visit(site=make_garden.site(latitude_deg=0.0, longitude_deg=0.0), **SPAN)

    plan = laid()

    assert any(f"visit {lost.site}: its garden has no place on the map" in note for note in plan.offer["notes"])
    assert "latitude and longitude" in Unplaced.objects.get(visit=lost).remedy
    assert is_placed(good)
    assert not is_placed(lost)


def test_a_garden_that_lost_its_place_stays_where_it_is_planned(crew, good):
    make_garden.visit(site=make_garden.site(latitude_deg=0.0, longitude_deg=0.0), on=FIRST, crew=crew, position=1)
    wet = make_garden.visit(on=FIRST, crew=crew, position=2, weather_rules=["D24"])

    plan = accept_plan(plan_id=rain_day(day=FIRST).pk)

    assert any("no place on the map" in note for note in plan.offer["notes"])
    assert Visit.objects.get(pk=wet.pk).on != FIRST


def test_a_yard_without_a_place_is_named(good):
    make_garden.crew(name="South", yard_latitude_deg=0.0, yard_longitude_deg=0.0)

    plan = laid()

    assert any("crew South: starts or ends at a yard without a place" in note for note in plan.offer["notes"])
    assert is_placed(good)


def test_a_visit_longer_than_any_shift_is_named(good):
    long = make_garden.visit(minutes=900, **SPAN)

    plan = laid()

    assert any(
        f"visit {long.site}: takes 900 min, the longest shift has 480 min" in note for note in plan.offer["notes"]
    )
    assert "split the work, or send more hands" in Unplaced.objects.get(visit=long).remedy
    assert is_placed(good)


def test_a_fixed_visit_on_a_holiday_is_named_and_kept(crew):
    # Easter Sunday 2027 is 28 March by the Gregorian computus (Meeus, Astronomical Algorithms, chapter 8).
    promised = make_garden.visit(on=GOOD_FRIDAY, crew=crew, position=1)
    fix_visit(visit_id=promised.pk, is_locked=True)
    good = make_garden.visit(opens=GOOD_FRIDAY, best_from=GOOD_FRIDAY, best_until=LAST, closes=LAST)

    plan = laid(GOOD_FRIDAY)

    assert any(f"visit {promised.site}: is locked on 26 March 2027, a holiday" in note for note in plan.offer["notes"])
    assert Visit.objects.get(pk=promised.pk).on == GOOD_FRIDAY
    assert is_placed(good)
    assert Visit.objects.get(pk=good.pk).on != GOOD_FRIDAY


def test_a_shift_that_ends_before_it_starts_never_reaches_the_book(crew):
    with pytest.raises(IntegrityError, match="shift_ends_after_it_starts"), transaction.atomic():
        Shift.objects.create(crew=crew, on=FIRST, starts=time(16, 30), ends=time(8))


def test_a_shift_no_longer_than_its_break_is_named(crew, good):
    Shift.objects.create(crew=crew, on=FIRST, starts=time(11, 30), ends=time(12), break_minutes=45)

    plan = laid()

    where = "shift of North on 1 April 2027: is no longer than its break of 45 min"
    assert any(where in note for note in plan.offer["notes"])
    assert is_placed(good)
    assert Visit.objects.get(pk=good.pk).on != FIRST


def test_a_command_names_what_is_wrong_too(good):
    make_garden.visit(minutes=900, **SPAN)

    outcome = lay_rounds(first_day=FIRST, last_day=LAST, effort=QUICK)

    assert outcome.placed == 1
    assert any("the longest shift has 480 min" in note for note in outcome.plan.offer["notes"])
