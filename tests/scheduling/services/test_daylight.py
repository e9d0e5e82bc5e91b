"""Crews are not sent out in the dark."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduling.models import Visit
from scheduling.rounds import Effort
from scheduling.services.daylight import TWILIGHT_MINUTES, daylight_of
from scheduling.services.placements import minute_of
from scheduling.services.rounds import lay_rounds
from tests import make, make_garden

pytestmark = pytest.mark.django_db
MIDWINTER, MIDSUMMER = date(2026, 12, 21), date(2027, 6, 21)
LONDON = {"yard_latitude_deg": 51.51, "yard_longitude_deg": -0.13, "time_zone": "Europe/London"}


def test_light_in_london_is_that_of_the_almanac():
    """Sunrise and sunset in London, 21 December 08:04 and 15:53, 21 June 04:43 and 21:21: the usual almanac values,
    from memory; within two minutes."""
    light = daylight_of([make_garden.crew(**LONDON)], MIDWINTER, MIDWINTER) | daylight_of(
        [make_garden.crew(**LONDON)], MIDSUMMER, MIDSUMMER
    )
    expected = {MIDWINTER: (8 * 60 + 4, 15 * 60 + 53), MIDSUMMER: (4 * 60 + 43, 21 * 60 + 21)}
    for day, (rise, fall) in expected.items():
        assert light[day][0] + TWILIGHT_MINUTES == pytest.approx(rise, abs=2)
        assert light[day][1] - TWILIGHT_MINUTES == pytest.approx(fall, abs=2)


def test_clock_change_moves_the_light_by_an_hour():
    light = daylight_of([make_garden.crew(**LONDON)], date(2027, 3, 27), date(2027, 3, 28))
    before, after = light.values()
    assert after[1] - before[1] == pytest.approx(60, abs=4)


def test_the_yard_with_least_light_counts():
    north = make_garden.crew(yard_latitude_deg=58.0, yard_longitude_deg=-3.0, time_zone="Europe/London")
    south = make_garden.crew(**LONDON)
    both = daylight_of([north, south], MIDWINTER, MIDWINTER)[MIDWINTER]
    alone = daylight_of([south], MIDWINTER, MIDWINTER)[MIDWINTER]
    assert both[0] > alone[0]
    assert both[1] < alone[1]


def test_polar_night_sets_no_limit():
    tromso = make_garden.crew(yard_latitude_deg=69.6, yard_longitude_deg=18.9, time_zone="Europe/Oslo")
    assert daylight_of([tromso], MIDWINTER, MIDWINTER) == {}


def test_a_long_shift_in_midwinter_ends_with_the_light(time_machine):
    time_machine.move_to("2026-12-01 09:00:00+00:00", tick=False)
    make.profile()
    crew = make_garden.crew(**LONDON)
    site = make_garden.site(latitude_deg=51.5, longitude_deg=-0.1)
    days = {"opens": MIDWINTER, "best_from": MIDWINTER, "best_until": MIDWINTER, "closes": MIDWINTER}
    for _ in range(2):
        row = make_garden.support(site=site)
        need = make_garden.need(tree=make_garden.tree(support=row), minutes=200, **days)
        visit = make_garden.visit(needs=(need,), site=site)
        Visit.objects.filter(pk=visit.pk).update(minutes=200, **days)
    make_garden.shift(crew=crew, on=MIDWINTER, starts="06:00", ends="20:00")
    lay_rounds(
        first_day=MIDWINTER,
        last_day=MIDWINTER + timedelta(days=1),
        effort=Effort(seconds=None, iterations=40, seeds=(1,)),
    )
    light = daylight_of([crew], MIDWINTER, MIDWINTER)[MIDWINTER]
    placed = Visit.objects.filter(on=MIDWINTER)
    assert placed.exists()
    for visit in placed:
        assert light[0] <= minute_of(visit.arrives_at)
        assert minute_of(visit.leaves_at) <= light[1]
