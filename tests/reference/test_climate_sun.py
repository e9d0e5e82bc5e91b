"""Sunrise, sunset and day length against astral 3.2 (NOAA equations) and its printed values."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from astral import Observer
from astral.sun import sunrise, sunset

from gardens.climate import Place, day_length_hours, sun_times
from tests.gardens.climate.records import load, there

SECONDS = 60


@pytest.mark.parametrize("case", load("vectors.json")["sun"], ids=lambda case: f"{case['latitude']}-{case['date']}")
def test_sun_rises_and_sets_within_a_minute(case):
    place = Place(latitude_deg=case["latitude"], longitude_deg=case["longitude"], timezone=case["timezone"])
    sun = sun_times(place, date.fromisoformat(case["date"]))
    if case["sunrise"] is None:
        assert (sun.sunrise, sun.sunset, sun.day_length_h) == (None, None, case["day_length_h"])
        return
    for ours, theirs in ((sun.sunrise, case["sunrise"]), (sun.sunset, case["sunset"])):
        expected = datetime.fromisoformat(theirs)
        assert abs((there(ours) - expected).total_seconds()) <= SECONDS
        assert there(ours).utcoffset() == expected.utcoffset()
    assert sun.day_length_h == pytest.approx(case["day_length_h"], abs=2 * SECONDS / 3600)


@pytest.mark.parametrize("zone", ["Europe/London", "America/Los_Angeles", "Pacific/Auckland"])
@pytest.mark.parametrize("latitude", [-55.0, -34.0, 0.0, 20.0, 45.0, 58.0])
def test_sun_agrees_with_astral_all_year(latitude, zone):
    longitude = {"Europe/London": 0.0, "America/Los_Angeles": -120.0, "Pacific/Auckland": 175.0}[zone]
    observer = Observer(latitude=latitude, longitude=longitude)
    place = Place(latitude_deg=latitude, longitude_deg=longitude, timezone=zone)
    for step in range(0, 365, 17):
        on = date(2025, 1, 1) + timedelta(days=step)
        sun = sun_times(place, on)
        for ours, theirs in ((sun.sunrise, sunrise), (sun.sunset, sunset)):
            assert abs((ours - theirs(observer, on, tzinfo=ZoneInfo(zone))).total_seconds()) <= SECONDS


@pytest.mark.parametrize("case", load("vectors.json")["sun"], ids=lambda case: f"{case['latitude']}-{case['date']}")
def test_array_day_length_follows_spencer(case):
    # Spencer (1971) declination with the sunset angle of Almorox et al. (2005), reckoned apart.
    day = float(date.fromisoformat(case["date"]).timetuple().tm_yday)
    ours = day_length_hours(case["latitude"], np.array([day]))[0]
    assert ours == pytest.approx(case["spencer_h"], abs=2e-4)
    assert ours == pytest.approx(case["cbm_h"], abs=0.03)  # Forsythe et al. (1995), the other usual form
