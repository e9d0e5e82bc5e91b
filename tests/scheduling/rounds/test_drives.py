"""Factors on the estimate from recorded drives: robust, fair between areas, consistent with how they are used."""

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rounds import (
    Point,
    TravelRules,
    Trip,
    area_of,
    estimate_matrix,
    great_circle_km,
    learn_corrections,
    learn_elsewhere,
)


def trips(count: int, taken: float, *, start: str = "fen", end: str = "fen", estimated: float = 20.0) -> list[Trip]:
    return [Trip(area=end, from_area=start, estimated_minutes=estimated, taken_minutes=taken)] * count


def factors(recorded: list[Trip]) -> dict[str, float]:
    return {each.area: each.factor for each in learn_corrections(recorded)}


def test_twenty_drives_make_a_factor_and_nineteen_do_not():
    assert factors(trips(19, 26)) == {}
    assert factors(trips(20, 26)) == {"fen": 1.3}
    assert learn_elsewhere(trips(19, 26)) is None
    assert learn_elsewhere(trips(20, 26)).factor == 1.3


def test_a_drive_between_areas_speaks_for_both():
    # Within the fen 1.44 times, within the hills as estimated, between them 1.2: the geometric mean of both.
    recorded = trips(30, 28.8) + trips(30, 20, start="hill", end="hill") + trips(30, 24, start="fen", end="hill")

    assert factors(recorded) == {"fen": pytest.approx(1.44, abs=0.01), "hill": pytest.approx(1.0, abs=0.01)}


def test_areas_joined_only_to_each_other_share_the_factor():
    found = factors(trips(40, 28, start="fen", end="hill"))

    assert found == {"fen": pytest.approx(1.4, abs=0.01), "hill": pytest.approx(1.4, abs=0.01)}


def test_learned_factors_bring_the_estimate_to_what_was_driven():
    # Two squares with factors 1.5 and 0.9 of their own; drives with noise, and one in ten a tractor or a wrong clock.
    places = {
        "a": Point(latitude_deg=52.22, longitude_deg=0.1, area="fen"),
        "b": Point(latitude_deg=52.28, longitude_deg=0.2, area="fen"),
        "c": Point(latitude_deg=52.5, longitude_deg=0.1, area="hill"),
        "d": Point(latitude_deg=52.56, longitude_deg=0.2, area="hill"),
    }
    plain = estimate_matrix(places)
    true = estimate_matrix(places, TravelRules(corrections={"fen": 1.5, "hill": 0.9}))
    random = Random(4)
    recorded = []
    for _ in range(300):
        start, end = random.sample(sorted(places), 2)
        taken = true.leg(start, end) * random.gauss(1.0, 0.1)
        taken = taken * random.choice([4.0, 0.1]) if random.random() < 0.1 else taken
        recorded.append(
            Trip(
                area=places[end].area,
                from_area=places[start].area,
                estimated_minutes=plain.leg(start, end),
                taken_minutes=max(1.0, taken),
            )
        )

    learned = estimate_matrix(places, TravelRules(corrections=factors(recorded)))

    for start in places:
        for end in places:
            assert learned.leg(start, end) == pytest.approx(true.leg(start, end), rel=0.08, abs=2)


def test_areas_without_a_factor_take_the_common_one():
    places = {
        "a": Point(latitude_deg=52.2, longitude_deg=0.1, area="new"),
        "b": Point(latitude_deg=52.3, longitude_deg=0.2, area="new"),
    }
    plain, learned = estimate_matrix(places), estimate_matrix(places, TravelRules(correction=1.25))

    assert learned.leg("a", "b") == pytest.approx(plain.leg("a", "b") * 1.25, abs=1)


def test_what_was_learned_is_explained_with_its_numbers():
    recorded = [*trips(15, 20), *trips(10, 24), *trips(15, 30)]

    found = learn_corrections(recorded)[0]

    assert found.why == (
        "40 recorded drives: the middle one took 1.20 times the estimate, half of them between 1.00 and 1.50."
    )
    assert "Held at 2" in learn_corrections(trips(20, 90))[0].why


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.sampled_from("abc"), st.sampled_from("abc"), st.floats(0.0, 500.0), st.floats(0.0, 500.0)),
        max_size=120,
    )
)
def test_any_drives_give_factors_within_bounds(rows):
    recorded = [
        Trip(area=end, from_area=start, estimated_minutes=estimated, taken_minutes=taken)
        for start, end, estimated, taken in rows
    ]

    assert all(0.5 <= each.factor <= 2.0 for each in learn_corrections(recorded))


@given(st.floats(-89.9, 89.9), st.floats(-180, 179.9))
def test_places_of_one_area_lie_near_each_other(latitude, longitude):
    near = (latitude, longitude), (min(89.9, latitude + 0.02), longitude)
    if area_of(*near[0]) == area_of(*near[1]):
        one, other = (Point(latitude_deg=at[0], longitude_deg=at[1]) for at in near)
        assert great_circle_km(one, other) < 17
    assert area_of(latitude, longitude) != area_of(max(-90, latitude - 0.11), longitude)
