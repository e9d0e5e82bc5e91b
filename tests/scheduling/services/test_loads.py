"""What a van cannot take is not sent with it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduling.models import Task, Unplaced, Visit
from scheduling.rounds import Effort
from scheduling.services.loads import NO_LIMIT, capacity_of, loads_of
from scheduling.services.rounds import lay_rounds
from tests import make, make_garden

pytestmark = pytest.mark.django_db
MONDAY = date(2027, 2, 1)
QUICK = Effort(seconds=None, iterations=60, seeds=(1,))


@pytest.fixture(autouse=True)
def today(time_machine):
    time_machine.move_to("2027-01-20 09:00:00+00:00", tick=False)
    make.profile()


def building(posts: float, *, wire: float = 120.0) -> Visit:
    """A visit that puts up a support within one week."""
    days = {"opens": MONDAY, "best_from": MONDAY, "closes": MONDAY + timedelta(days=4)}
    days["best_until"] = days["closes"]
    materials = [["line_post", posts - 2], ["end_post", 2], ["straining_wire", wire], ["staple", 40]]
    need = make_garden.need(kind="erect_support", materials=materials, minutes=120, **days)
    visit = make_garden.visit(needs=(need,))
    Visit.objects.filter(pk=visit.pk).update(minutes=120, **days)
    visit.refresh_from_db()
    return visit


def test_posts_wire_and_trees_are_summed_over_open_jobs():
    visit = building(8, wire=120.4)
    three = make_garden.need(kind="plant", materials=[["label", 3], ["cane", 9]])
    planting = make_garden.visit(needs=(three, make_garden.need(kind="plant", materials=[])))
    plain = make_garden.visit(needs=(make_garden.need(),))
    assert loads_of([visit, planting, plain]) == {
        visit.pk: {"posts": 8, "metres of wire": 121},
        planting.pk: {"trees": 4},
    }
    Task.objects.update(state="done", answered_at="2027-01-20T09:00:00Z")
    assert loads_of([visit, planting, plain]) == {}


def test_a_limit_nobody_set_is_none():
    crew = make_garden.crew(carries_posts=12)
    assert capacity_of(crew) == {"posts": 12, "metres of wire": NO_LIMIT, "trees": NO_LIMIT}


def test_two_loads_too_many_for_one_day_take_two():
    crew = make_garden.crew(carries_posts=12)
    visits = [building(8), building(8)]
    for offset in range(5):
        make_garden.shift(crew=crew, on=MONDAY + timedelta(days=offset))
    lay_rounds(first_day=MONDAY, last_day=MONDAY + timedelta(days=4), effort=QUICK)
    placed = [Visit.objects.get(pk=visit.pk).on for visit in visits]
    assert None not in placed
    assert len(set(placed)) == 2


def test_a_load_too_large_for_every_van_says_so():
    make_garden.shift(crew=make_garden.crew(name="Alder", carries_posts=12), on=MONDAY)
    visit = building(30)
    lay_rounds(first_day=MONDAY, last_day=MONDAY + timedelta(days=4), effort=QUICK)
    visit.refresh_from_db()
    assert visit.on is None
    (why,) = Unplaced.objects.filter(visit=visit).values_list("why", flat=True)
    assert "Alder can carry 12 posts, it needs 30" in why
