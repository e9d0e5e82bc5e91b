"""The sun of the row spacing against the library astral 3.2 (NOAA equations), and against textbook days."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from astral import Observer
from astral.sun import azimuth, elevation, noon

from gardens.supports.sun import declination_deg, half_day_h, sun_at

PLACES = [(51.5, 0.0), (35.0, 0.0), (0.0, 0.0), (-34.0, 0.0), (60.0, 0.0)]
DAYS = [date(2025, 3, 20), date(2025, 6, 21), date(2025, 9, 10), date(2025, 12, 21)]


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
def test_sun_stands_where_astral_puts_it(latitude, longitude, day):
    observer = Observer(latitude=latitude, longitude=longitude)
    highest = noon(observer, date=day)
    for hours in (-4, -2, 0, 1, 3, 5):
        at = highest + timedelta(hours=hours)
        ours = sun_at(latitude_deg=latitude, day=day, hours_from_noon=hours)
        theirs = elevation(observer, at, with_refraction=False)
        if theirs < 2:
            continue
        assert ours.altitude_deg == pytest.approx(theirs, abs=0.15)
        if theirs < 80:  # near the zenith the bearing turns by many degrees in minutes
            difference = (ours.bearing_deg - azimuth(observer, at) + 180) % 360 - 180
            assert abs(difference) < 0.4


def test_declination_turns_at_the_solstices():
    # Obliquity of the ecliptic 23.44°: Astronomical Almanac.
    assert declination_deg(date(2025, 6, 21)) == pytest.approx(23.44, abs=0.02)
    assert declination_deg(date(2025, 12, 21)) == pytest.approx(-23.44, abs=0.02)
    # Equinox of 2025: 20 March, 09:01 UTC; the sun climbs 0.0165° an hour then.
    assert declination_deg(date(2025, 3, 20)) == pytest.approx(0.05, abs=0.02)


def test_half_a_day_lasts_six_hours_at_the_equinox():
    assert half_day_h(latitude_deg=51.5, day=date(2025, 3, 21)) == pytest.approx(6, abs=0.05)
    assert half_day_h(latitude_deg=80, day=date(2025, 6, 21)) == 12
    assert half_day_h(latitude_deg=80, day=date(2025, 12, 21)) == 0


def test_noon_altitude_is_ninety_less_latitude_plus_declination():
    day = date(2025, 6, 21)
    stands = sun_at(latitude_deg=51.5, day=day, hours_from_noon=0)

    assert stands.altitude_deg == pytest.approx(90 - 51.5 + declination_deg(day))
    assert stands.bearing_deg == pytest.approx(180)
