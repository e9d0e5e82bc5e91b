"""Drives read from what phones tell: between leaving and arriving, midday and errands left out."""

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.models import Visit
from scheduling.queries.drives import learned_drives, recorded_trips
from scheduling.services.round_problem import build_problem
from tests import make, make_garden

pytestmark = pytest.mark.django_db
TODAY = date(2027, 3, 1)


@pytest.fixture(autouse=True)
def morning(time_machine):
    time_machine.move_to("2027-03-01 08:00:00+00:00", tick=False)
    make.profile()


@pytest.fixture
def gardens():
    """Eight kilometres apart, in one square of 11 km: estimated 20 minutes."""
    return [
        make_garden.site(latitude_deg=51.01, longitude_deg=-2.84),
        make_garden.site(latitude_deg=51.08, longitude_deg=-2.82),
    ]


@pytest.fixture
def crew():
    return make_garden.crew(name="North", yard_latitude_deg=51.05, yard_longitude_deg=-2.83)


def made(crew, site, on: date, start: str, end: str) -> Visit:
    def at(words: str) -> datetime:
        return datetime.fromisoformat(f"{on} {words}").replace(tzinfo=UTC)

    visit = make_garden.visit(site=site, on=on, crew=crew)
    Visit.objects.filter(pk=visit.pk).update(
        state=Visit.State.FINISHED, started_at=at(start), finished_at=at(end), minutes_taken=60
    )
    return visit


def day_of(number: int) -> date:
    return date(2027, 1, 4) + timedelta(days=number)


def test_a_drive_is_from_leaving_to_arriving(crew, gardens):
    made(crew, gardens[0], day_of(0), "08:10", "09:00")
    made(crew, gardens[1], day_of(0), "09:26", "10:30")

    trips, left_out = recorded_trips(TODAY)

    assert left_out == 0
    assert [(each.taken_minutes, each.on) for each in trips] == [(26.0, day_of(0))]
    assert 15 <= trips[0].estimated_minutes <= 25


def test_midday_errands_and_missing_arrivals_are_left_out(crew, gardens):
    made(crew, gardens[0], day_of(0), "10:00", "11:20")
    made(crew, gardens[1], day_of(0), "12:20", "13:00")  # lunch on the way
    made(crew, gardens[0], day_of(1), "08:00", "09:00")
    made(crew, gardens[1], day_of(1), "11:15", "11:25")  # over two hours for 20 minutes: an errand
    made(crew, gardens[0], day_of(2), "08:00", "09:00")
    made(crew, gardens[1], day_of(2), "10:00", "10:00")  # arrived was never pressed
    made(crew, gardens[0], day_of(3), "08:00", "09:00")
    made(crew, gardens[0], day_of(3), "09:05", "10:00")  # the same garden
    made(make_garden.crew(name="South"), gardens[1], day_of(3), "09:10", "10:00")  # another crew

    assert recorded_trips(TODAY) == ([], 2)


def test_local_midday_counts_not_that_of_greenwich(gardens):
    crew = make_garden.crew(name="West", time_zone="America/New_York")
    made(crew, gardens[0], day_of(0), "16:00", "16:45")  # 11:45 there
    made(crew, gardens[1], day_of(0), "17:10", "18:00")
    made(crew, gardens[0], day_of(1), "11:00", "12:00")  # 07:00 there
    made(crew, gardens[1], day_of(1), "12:25", "13:00")

    trips, left_out = recorded_trips(TODAY)

    assert [each.on for each in trips] == [day_of(1)]
    assert left_out == 1


def test_twenty_slow_drives_lengthen_those_to_come(crew, gardens):
    planned = make_garden.visit(site=gardens[0]), make_garden.visit(site=gardens[1])

    def leg() -> int:
        problem = build_problem(TODAY, TODAY + timedelta(days=4), [crew], planned)
        return problem.travel.leg(f"site {gardens[0].pk}", f"site {gardens[1].pk}")

    before = leg()
    for number in range(20):
        made(crew, gardens[0], day_of(number), "08:10", "09:00")
        made(crew, gardens[1], day_of(number), f"09:{round(before * 1.4):02d}", "10:30")

    seen = learned_drives(TODAY)
    assert [(each.factor, each.trips) for each in seen.areas] == [(pytest.approx(1.4, abs=0.05), 20)]
    assert seen.gardens[seen.areas[0].area] == sorted(site.name for site in gardens)
    assert leg() == pytest.approx(before * 1.4, abs=1)
    problem = build_problem(TODAY, TODAY + timedelta(days=4), [crew], planned)
    assert "Estimates are corrected by area in 1 area, from 20 recorded drives." in problem.travel.notes


def test_old_drives_are_forgotten(crew, gardens):
    made(crew, gardens[0], date(2023, 1, 4), "08:10", "09:00")
    made(crew, gardens[1], date(2023, 1, 4), "09:26", "10:30")

    assert recorded_trips(TODAY) == ([], 0)


@pytest.mark.parametrize("days", [2, 12])
def test_learning_takes_the_same_queries_however_many(crew, gardens, days, django_assert_max_num_queries):
    for number in range(days):
        made(crew, gardens[0], day_of(number), "08:10", "09:00")
        made(crew, gardens[1], day_of(number), "09:26", "10:30")

    with django_assert_max_num_queries(2):
        learned_drives(TODAY)
