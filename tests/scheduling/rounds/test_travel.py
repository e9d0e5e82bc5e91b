import pytest

from scheduling.rounds import Point, TravelRules, Trip, estimate_matrix, learn_corrections

PLACES = {
    "yard": Point(latitude_deg=52.2, longitude_deg=0.1),
    "near": Point(latitude_deg=52.21, longitude_deg=0.12, area="fen"),
    "same": Point(latitude_deg=52.21, longitude_deg=0.12, area="fen"),
    "across": Point(latitude_deg=52.25, longitude_deg=0.3, area="far bank"),
}


def test_matrix_is_symmetric_with_nothing_between_one_place():
    matrix = estimate_matrix(PLACES)

    assert (matrix.minutes == matrix.minutes.T).all()
    assert matrix.leg("yard", "yard") == matrix.leg("near", "same") == 0
    assert matrix.leg("yard", "near") > 0


def test_detour_lengthens_trips_across_but_not_within():
    plain = estimate_matrix(PLACES)
    detour = estimate_matrix(PLACES, TravelRules(detours={"far bank": 2.0}))

    assert detour.km[0, 3] == pytest.approx(plain.km[0, 3] * 2.0 / 1.3)
    assert detour.leg("yard", "near") == plain.leg("yard", "near")


def test_recorded_trips_correct_their_area():
    trips = [Trip(area="fen", estimated_minutes=20, taken_minutes=26) for _ in range(25)]
    trips += [Trip(area="fen", estimated_minutes=20, taken_minutes=200)] * 5
    trips += [Trip(area="hill", estimated_minutes=20, taken_minutes=40)] * 19

    corrections = learn_corrections(trips)

    assert [(each.area, each.factor, each.trips) for each in corrections] == [("fen", 1.3, 30)]
    plain = estimate_matrix(PLACES)
    learned = estimate_matrix(PLACES, TravelRules(corrections={"fen": 1.3 * 1.3}))
    assert learned.leg("yard", "near") == pytest.approx(plain.leg("yard", "near") * 1.3, abs=1)


def test_broken_clocks_do_not_double_a_drive():
    trips = [Trip(area="fen", estimated_minutes=10, taken_minutes=90)] * 20

    assert learn_corrections(trips)[0].factor == 2.0


def test_place_off_the_globe_is_refused():
    with pytest.raises(ValueError, match="not a place on earth"):
        Point(latitude_deg=95, longitude_deg=0)


def test_no_places_make_an_empty_matrix():
    assert estimate_matrix({}).minutes.shape == (0, 0)
