"""Great-circle distances and the estimate of driving times against worked values.

Distances: computed with geopy 2.5.0 (MIT), ``geopy.distance.great_circle``, which takes the same mean earth radius
6371.009 km. Nashville to Los Angeles airport, 2886.4 km with that radius, is the worked example of many haversine texts.
"""

import pytest

from scheduling.rounds import Point, TravelRules, estimate_matrix, estimate_minutes, great_circle_km


@pytest.mark.parametrize(
    ("start", "end", "km"),
    [
        ((0, 0), (0, 1), 111.195084),
        ((0, 0), (1, 0), 111.195084),
        ((0, 0), (0, 180), 20015.115070),
        ((41.49008, -71.312796), (41.499498, -81.695391), 864.214494),
        ((51.5074, -0.1278), (48.8566, 2.3522), 343.556546),
        ((36.12, -86.67), (33.94, -118.40), 2886.448520),
        ((52.2, 0.12), (52.35, 0.31), 21.102278),
        ((-33.8688, 151.2093), (-37.8136, 144.9631), 713.428489),
        ((52.2, 0.12), (52.2, 0.12), 0.0),
    ],
)
def test_great_circle_agrees_with_a_reference_library(start, end, km):
    one = Point(latitude_deg=start[0], longitude_deg=start[1])
    two = Point(latitude_deg=end[0], longitude_deg=end[1])

    assert great_circle_km(one, two) == pytest.approx(km, abs=1e-5)
    assert great_circle_km(two, one) == pytest.approx(km, abs=1e-5)


@pytest.mark.parametrize(("straight_km", "minutes"), [(0, 0), (1, 7), (2, 10), (5, 15), (10, 24), (20, 37), (40, 61)])
def test_estimate_follows_the_speed_bands(straight_km, minutes):
    # By hand, circuity 1.3: 3 min + the first 3 road km at 25 km/h, to 15 km at 45, beyond at 65, rounded up.
    # 10 km: 13 road km = 3 + 7.2 + 13.33 = 23.53 → 24.
    assert estimate_minutes(straight_km) == minutes


def test_equator_degree_by_road_is_circuity_times_longer():
    matrix = estimate_matrix(
        {"a": Point(latitude_deg=0, longitude_deg=0), "b": Point(latitude_deg=0, longitude_deg=1)},
        TravelRules(circuity=1.4),
    )

    assert matrix.km[0, 1] == pytest.approx(1.4 * 111.195084, abs=1e-4)
