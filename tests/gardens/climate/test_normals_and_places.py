"""Normals, guesses, profiles, stations, walls."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.climate import (
    MonthlyNormals,
    Place,
    Station,
    at_height,
    brought_to_height,
    climate_profile,
    daily_normals,
    days_earlier,
    estimated_normals,
    nearest_station,
    normals_from_weather,
    on_wall,
    phenology_of,
    rank_stations,
    stage_dates,
)
from gardens.climate.estimate import known_places
from gardens.climate.normals import weather_noise, weather_spread
from tests.gardens.climate.records import LONDON, SEATTLE, seattle, seattle_normals, there

months = st.lists(st.floats(-25, 30), min_size=12, max_size=12)


@given(months)
@settings(deadline=None, max_examples=30)
def test_daily_curve_keeps_every_month_mean(values):
    normals = MonthlyNormals(tmin_c=tuple(values), tmax_c=tuple(value + 60 for value in values))
    low, _ = daily_normals(normals, date(2023, 1, 1), 365)
    starts = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    for month, value in enumerate(values):
        length = 28 if month == 1 else 30 if month in (3, 5, 8, 10) else 31
        assert low[starts[month] : starts[month] + length].mean() == pytest.approx(value, abs=0.02)


def test_leap_day_takes_the_value_before_it():
    low, high = daily_normals(seattle_normals(), date(2024, 2, 28), 3)
    assert low[0] == low[1]
    assert high[1] < high[2]


def test_noise_is_the_same_every_time_and_balanced():
    noise = weather_noise(400)
    np.testing.assert_array_equal(noise, weather_noise(400))
    np.testing.assert_allclose(noise.mean(axis=1), 0, atol=1e-12)
    assert noise[0].std() == pytest.approx(2.6, rel=0.1)
    assert noise[1].std() == pytest.approx(3.5, rel=0.1)
    lagged = np.corrcoef(noise[0, :, :-1].ravel(), noise[0, :, 1:].ravel())[0, 1]
    assert lagged == pytest.approx(0.7, abs=0.05)


def test_weather_varies_more_where_winters_are_cold():
    minnesota = estimated_normals(Place(latitude_deg=45.0, longitude_deg=-93.2))
    california = estimated_normals(Place(latitude_deg=38.6, longitude_deg=-121.5))
    assert weather_spread(minnesota, 45.0) == 1.6
    assert weather_spread(california, 38.6) == 1.0
    assert weather_spread(seattle_normals(), 47.45) == pytest.approx(1.08, abs=0.03)
    assert weather_spread(seattle_normals(), -47.45) == weather_spread(seattle_normals(), 47.45)


def test_a_hundred_metres_cost_two_thirds_of_a_degree():
    higher = at_height(seattle_normals(), from_m=100, to_m=300)
    assert higher.tmin_c[0] == pytest.approx(seattle_normals().tmin_c[0] - 1.3)
    day = seattle().days[0]
    assert brought_to_height([day], from_m=100, to_m=300)[0].tmax_c == pytest.approx(day.tmax_c - 1.3)


def test_normals_come_back_from_daily_weather():
    found = there(normals_from_weather(seattle().days))
    for month in range(12):
        assert found.tmin_c[month] == pytest.approx(seattle_normals().tmin_c[month], abs=0.05)
        assert found.tmax_c[month] == pytest.approx(seattle_normals().tmax_c[month], abs=0.05)
    assert len(found.rain_mm) == 12
    assert normals_from_weather(seattle().days[:200]) is None
    dry = there(normals_from_weather([replace(day, rain_mm=None) for day in seattle().days]))
    assert dry.rain_mm == ()


def test_guess_near_a_known_place_is_that_place():
    for known in known_places():
        guess = estimated_normals(known.place)
        assert guess.tmin_c[0] == pytest.approx(known.normals.tmin_c[0], abs=1.2), known.name
        assert guess.tmax_c[6] == pytest.approx(known.normals.tmax_c[6], abs=1.2), known.name


@given(st.floats(-60, 65), st.floats(-180, 180), st.floats(0, 2500))
@settings(deadline=None, max_examples=60)
def test_guess_gives_a_sound_year_anywhere(latitude, longitude, height):
    place = Place(latitude_deg=latitude, longitude_deg=longitude, elevation_m=height)
    normals = estimated_normals(place)
    assert all(low <= high for low, high in zip(normals.tmin_c, normals.tmax_c, strict=True))
    assert all(rain >= 0 for rain in normals.rain_mm)
    if abs(latitude) > 30:
        winter, summer = (0, 6) if latitude > 0 else (6, 0)
        assert normals.tmax_c[winter] < normals.tmax_c[summer]


@pytest.mark.parametrize(
    ("latitude", "longitude", "profile"),
    [
        (51.5, -0.1, "maritime"),
        (47.5, -122.3, "maritime"),
        (45.5, -122.7, "maritime"),
        (50.6, 7.0, "maritime"),
        (-41.3, 173.2, "maritime"),
        (45.0, -93.2, "continental_cold"),
        (40.8, -111.9, "continental_cold"),
        (37.2, -80.4, "continental_cold"),
        (55.8, 37.6, "continental_cold"),
        (38.6, -121.5, "mediterranean"),
        (37.4, -5.9, "mediterranean"),
        (43.4, 5.2, "mediterranean"),
        (-34.9, 138.6, "mediterranean"),
        (-33.4, -70.7, "mediterranean"),
    ],
)
def test_profiles_of_well_known_regions(latitude, longitude, profile):
    finding = climate_profile(Place(latitude_deg=latitude, longitude_deg=longitude))
    assert finding.profile == profile
    assert finding.why
    assert finding.source


def test_hard_january_makes_a_place_continental():
    cold = MonthlyNormals(tmin_c=(-10.5,) + (0.0,) * 11, tmax_c=(0.0,) + (12.0,) * 11, rain_mm=(50.0,) * 12)
    assert climate_profile(LONDON, cold).profile == "continental_cold"
    mild = replace(cold, tmin_c=(-1.0,) + (0.0,) * 11)
    assert climate_profile(LONDON, mild).profile == "maritime"


def test_profile_without_rain_takes_the_guessed_rain():
    seville = Place(latitude_deg=37.4, longitude_deg=-5.9)
    dry = replace(estimated_normals(seville), rain_mm=())
    assert climate_profile(seville, dry).profile == "mediterranean"


# Stations

SITE = Place(latitude_deg=51.0, longitude_deg=-2.0, elevation_m=100)


def station(key, latitude, longitude, height):
    return Station(key=key, latitude_deg=latitude, longitude_deg=longitude, elevation_m=height)


def test_distance_is_that_of_the_sphere():
    # Great circle London – Paris on a sphere of 6371 km: 343.6 km (textbook example, from memory).
    (choice,) = rank_stations(
        Place(latitude_deg=51.5074, longitude_deg=-0.1278), [station("paris", 48.8566, 2.3522, 35)]
    )
    assert choice.distance_km == pytest.approx(343.6, abs=0.5)


def test_height_can_outweigh_distance():
    near_but_high = station("hill", 51.05, -2.0, 480)
    far_but_level = station("vale", 51.2, -2.0, 110)
    assert there(nearest_station(SITE, [near_but_high, far_but_level])).station.key == "vale"
    assert [choice.station.key for choice in rank_stations(SITE, [near_but_high, far_but_level])] == ["vale", "hill"]


def test_far_and_unplaced_stations_do_not_serve():
    assert nearest_station(SITE, [station("far", 53.0, -2.0, 100)]) is None
    assert nearest_station(SITE, [station("alp", 51.0, -2.0, 700)]) is None
    assert nearest_station(SITE, [Station(key="lost")]) is None
    assert nearest_station(SITE, []) is None
    assert (
        there(nearest_station(SITE, [replace(station("flat", 51.1, -2.0, 0), elevation_m=None)])).height_step_m is None
    )


def test_equal_stations_are_ordered_by_key():
    twins = [station("b", 51.1, -2.0, 100), station("a", 51.1, -2.0, 100)]
    assert there(nearest_station(SITE, twins)).station.key == "a"


# Walls


@pytest.mark.parametrize(
    ("aspect", "southern", "days"),
    [
        (180, False, 5),
        (270, False, 5),
        (90, False, 2),
        (0, False, 0),
        (0, True, 5),
        (90, True, 2),
        (180, True, 0),
        (360, True, 5),
    ],
)
def test_sunny_walls_wake_a_tree_earlier(aspect, southern, days):
    assert days_earlier(aspect, is_southern=southern) == days


def test_only_the_unseen_spring_moves_on_a_wall():
    apple = phenology_of("apple_spur")
    plain = stage_dates(SEATTLE, apple, 2026)
    moved = on_wall(plain, 180.0)
    assert (plain["full_bloom"].on - moved["full_bloom"].on).days == 5
    assert moved["leaf_fall"] == plain["leaf_fall"]
    seen = stage_dates(SEATTLE, apple, 2026, observed={"full_bloom": plain["full_bloom"].on})
    kept = on_wall(seen, 180.0)
    assert kept["full_bloom"] == seen["full_bloom"]
    assert kept["petal_fall"] == seen["petal_fall"]
    assert kept["bud_swell"].on < seen["bud_swell"].on
