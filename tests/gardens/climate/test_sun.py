"""Sunrise and sunset on the clocks of the world."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.climate import Place, sun_times


@pytest.mark.parametrize(
    ("zone", "longitude"),
    [("Pacific/Auckland", 174.8), ("Pacific/Honolulu", -157.9), ("Pacific/Kiritimati", -157.4), ("UTC", 179.9)],
)
def test_both_times_lie_on_the_asked_day(zone, longitude):
    place = Place(latitude_deg=-20.0, longitude_deg=longitude, timezone=zone)
    for step in range(0, 365, 13):
        on = date(2025, 1, 1) + timedelta(days=step)
        sun = sun_times(place, on)
        assert sun.sunrise is not None
        assert sun.sunset is not None
        assert sun.sunrise.date() == on
        assert sun.sunset.date() == on


def test_polar_night_and_day_have_no_times():
    tromso = Place(latitude_deg=69.65, longitude_deg=18.96, timezone="Europe/Oslo")
    summer, winter = sun_times(tromso, date(2024, 6, 20)), sun_times(tromso, date(2024, 12, 20))
    assert (summer.sunrise, summer.sunset, summer.day_length_h) == (None, None, 24.0)
    assert (winter.sunrise, winter.sunset, winter.day_length_h) == (None, None, 0.0)


@given(st.floats(-60, 60), st.integers(0, 364))
@settings(deadline=None, max_examples=40)
def test_day_lengths_of_both_halves_make_a_full_day(latitude, step):
    on = date(2025, 1, 1) + timedelta(days=step)
    north = sun_times(Place(latitude_deg=latitude, longitude_deg=0.0), on).day_length_h
    south = sun_times(Place(latitude_deg=-latitude, longitude_deg=0.0), on).day_length_h
    # Refraction and the sun's own width lengthen both days, more so near the poles.
    assert 24.0 <= north + south <= 24.75
