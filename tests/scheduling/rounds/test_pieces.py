"""Cutting and crossing must lose nothing."""

from collections import Counter
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rounds import plan_rounds
from scheduling.rounds.checks import sift
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.model import write_model
from scheduling.rounds.pieces import cross, cut
from scheduling.rounds.solver import price
from scheduling.rounds.ways import Shape
from tests.scheduling.rounds.weeks import QUICK, day, visit, week

PROBLEM = week(
    *(
        visit(str(number), "abcdef"[number % 6], 40 + 5 * number, best_from=day(number % 4), best_until=day(4))
        for number in range(24)
    )
)
MODEL = write_model(Lookup(sift(PROBLEM).problem), Shape())
ROUTES = MODEL.routes(plan_rounds(PROBLEM, QUICK).sequences)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 10**6), st.integers(1, 5), st.integers(0, 3))
def test_pieces_together_are_the_whole(seed, count, without):
    routes = ROUTES[: len(ROUTES) - without]
    pieces = cut(MODEL.problem, routes, count, Random(seed))

    visits = Counter(MODEL.problem.clients[way].visit for piece in pieces for way in piece.clients)
    assert set(visits) == set(MODEL.problem.ways_of)
    owners = [{MODEL.problem.clients[way].visit for way in piece.clients} for piece in pieces]
    assert sum(len(owner) for owner in owners) == len(MODEL.problem.ways_of), "a visit is in one piece only"
    vehicles = Counter()
    for piece in pieces:
        for kind, vehicle in zip(piece.kinds, piece.problem.vehicles, strict=True):
            vehicles[kind] += vehicle.count
    assert vehicles == {kind: vehicle.count for kind, vehicle in enumerate(MODEL.problem.vehicles)}
    back = [route for piece in pieces for route in piece.home(piece.start)]
    assert sorted(back) == sorted(routes)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10**6), st.integers(1, 4))
def test_costs_of_pieces_add_up(seed, count):
    pieces = cut(MODEL.problem, ROUTES, count, Random(seed))

    # Ways that no vehicle of a piece can make are not in it, and neither is what leaving them out costs.
    whole = price(MODEL.problem, ROUTES).cost
    left = sum(client.prize for client in MODEL.problem.clients)
    inside = sum(client.prize for piece in pieces for client in piece.problem.clients)
    assert sum(price(piece.problem, piece.start).cost for piece in pieces) == whole - (left - inside)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 10**6))
def test_crossing_serves_no_visit_twice(seed):
    random = Random(seed)
    other = list(ROUTES)
    random.shuffle(other)
    child = cross(MODEL.problem, ROUTES, other[: max(1, len(other) - 1)], random)

    visits = Counter(MODEL.problem.clients[way].visit for _, clients in child for way in clients)
    kinds = Counter(kind for kind, _ in child)
    assert set(visits.values()) <= {1}
    assert all(count <= MODEL.problem.vehicles[kind].count for kind, count in kinds.items())
