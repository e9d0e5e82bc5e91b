"""The road service, faked by the published shape of its answers."""

import json
from datetime import date

import numpy as np
import pytest

from business.errors import BadInput
from scheduling.rounds import (
    LegStore,
    Point,
    estimate_matrix,
    join_to_estimate,
    read_table,
    table_requests,
)

PLACES = {
    "a": Point(latitude_deg=52.20, longitude_deg=0.10),
    "b": Point(latitude_deg=52.25, longitude_deg=0.20),
    "c": Point(latitude_deg=52.30, longitude_deg=0.05),
}
TODAY = date(2025, 3, 3)


def body(seconds, metres, code="Ok") -> str:
    return json.dumps({"code": code, "durations": seconds, "distances": metres})


def grid(value: float):
    return [[0 if row == column else value for column in range(3)] for row in range(3)]


def test_request_writes_longitude_before_latitude():
    (request,) = table_requests("http://roads.example.com/", PLACES)

    assert request.url == (
        "http://roads.example.com/table/v1/driving/0.100000,52.200000;0.200000,52.250000;0.050000,52.300000"
        "?annotations=duration,distance"
    )


def test_large_table_is_asked_for_in_blocks_that_cover_it():
    many = {str(number): Point(latitude_deg=50 + number / 100, longitude_deg=0) for number in range(11)}

    requests = table_requests("http://roads.example.com", many, most=4)

    pairs = [(row, column) for request in requests for row in request.rows for column in request.columns]
    assert sorted(pairs) == sorted((row, column) for row in many for column in many)
    assert all(len(set(request.rows) | set(request.columns)) <= 4 for request in requests)
    assert "&sources=0;1&destinations=2;3" in requests[1].url


def test_only_fresh_places_are_asked_for():
    requests = table_requests("http://roads.example.com", PLACES, fresh={"c"})

    pairs = {(row, column) for request in requests for row in request.rows for column in request.columns}
    assert pairs == {("c", "a"), ("c", "b"), ("c", "c"), ("a", "c"), ("b", "c")}


def test_answer_replaces_the_estimate_and_says_so():
    (request,) = table_requests("http://roads.example.com", PLACES)
    answer = read_table(request, body(grid(1234.0), grid(17_000.0)))

    matrix = join_to_estimate(estimate_matrix(PLACES), [answer], PLACES, asked_on=TODAY)

    assert matrix.leg("a", "b") == 21  # 1234 s, rounded up to a minute
    assert matrix.km[0, 1] == 17.0
    assert matrix.leg("a", "a") == 0
    assert matrix.notes == ("6 of 6 travel times from the road service on 2025-03-03.",)


def test_missing_way_keeps_the_estimate_with_a_note():
    (request,) = table_requests("http://roads.example.com", PLACES)
    seconds, metres = grid(1234.0), grid(17_000.0)
    seconds[0][1] = metres[0][1] = None
    estimate = estimate_matrix(PLACES)

    matrix = join_to_estimate(estimate, [read_table(request, body(seconds, metres))], PLACES, asked_on=TODAY)

    assert matrix.leg("a", "b") == estimate.leg("a", "b")
    assert matrix.leg("b", "a") == 21
    assert "The road service found no way for 1 pairs." in matrix.notes


def test_roads_shorter_than_the_straight_line_are_not_believed():
    (request,) = table_requests("http://roads.example.com", PLACES)
    estimate = estimate_matrix(PLACES)

    short = join_to_estimate(estimate, [read_table(request, body(grid(60.0), grid(900.0)))], PLACES, asked_on=TODAY)
    slow = join_to_estimate(estimate, [read_table(request, body(grid(40_000.0), grid(17e3)))], PLACES, asked_on=TODAY)

    assert np.array_equal(short.minutes, estimate.minutes)
    assert np.array_equal(slow.minutes, estimate.minutes)
    assert any("check coordinates" in note for note in short.notes)
    assert any("ask a driver" in note for note in slow.notes)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("<html>", "not JSON"),
        ("[]", "not an object"),
        (body(None, None, code="NoTable"), "'NoTable'"),
        (body([[0, 1], [1, 0]], [[0, 1], [1, 0]]), "has not 3 rows"),
        (body([[0, 1], [1, 0], [1, 1]], grid(1)), "has not 3 numbers"),
        (body(grid(-5.0), grid(1.0)), "holds -5.0"),
        (body(grid("fast"), grid(1.0)), "holds 'fast'"),
    ],
)
def test_answer_of_another_shape_is_refused(text, wrong):
    (request,) = table_requests("http://roads.example.com", PLACES)

    with pytest.raises(BadInput) as refusal:
        read_table(request, text)

    assert wrong in refusal.value.faults[0].wrong


def test_kept_legs_are_not_asked_for_again():
    (request,) = table_requests("http://roads.example.com", PLACES)
    store = LegStore()
    store.keep(read_table(request, body(grid(1234.0), grid(17_000.0))), PLACES, TODAY)
    grown = PLACES | {"d": Point(latitude_deg=52.4, longitude_deg=0.3)}

    assert store.missing(PLACES, not_before=TODAY) == frozenset()
    assert store.missing(grown, not_before=TODAY) == {"d"}
    assert len(store.missing(PLACES, not_before=date(2025, 3, 4))) == 2
    joined = join_to_estimate(estimate_matrix(PLACES), [store.known(PLACES, not_before=TODAY)], PLACES, asked_on=TODAY)
    assert joined.leg("a", "c") == 21


def test_moved_site_is_asked_for_anew():
    (request,) = table_requests("http://roads.example.com", PLACES)
    store = LegStore()
    store.keep(read_table(request, body(grid(1234.0), grid(17_000.0))), PLACES, TODAY)

    moved = PLACES | {"b": Point(latitude_deg=52.26, longitude_deg=0.2)}

    assert store.missing(moved, not_before=TODAY) == {"b"}
