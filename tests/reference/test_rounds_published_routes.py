"""Published routing instances solved through our own rounds, and the checker proved on published solutions.

Instances and best known solutions: tests/data/routes/SOURCE.txt. The multi-day check is instance p03 of Cordeau,
Gendreau and Laporte (1997, Networks 30(2):105-119): 50 customers once a week over 5 days with one vehicle; its best
known length 524.61 is that of the one-day instance 1 of Christofides, Mingozzi and Toth (1979).
"""

from __future__ import annotations

from itertools import pairwise
from math import hypot
from pathlib import Path

import numpy as np
import pytest

from scheduling.rounds import (
    Crew,
    CrewDay,
    Effort,
    Horizon,
    RoundsProblem,
    TravelMatrix,
    VisitRequest,
    Weights,
    plan_rounds,
)
from tests.benchmarks.published_routes import DAY, as_rounds, check, read_instance, read_solution, routes_of

DATA = Path(__file__).parents[1] / "data" / "routes"
SHARED = Path(__file__).resolve().parents[2].parent / "shared" / "benchmarks"


@pytest.mark.parametrize(("name", "distance"), [("C101", 827.3), ("R105", 1355.3)])
def test_checker_finds_published_solutions_sound(name, distance):
    routes, cost = read_solution(DATA / f"{name}.sol")

    assert check(read_instance(DATA / f"{name}.vrp"), routes) == (pytest.approx(distance), [])
    assert cost == distance


def test_checker_notices_a_route_driven_backwards():
    routes, _ = read_solution(DATA / "R105.sol")

    _, wrong = check(read_instance(DATA / "R105.vrp"), [list(reversed(routes[0])), *routes[1:]])

    assert any(fault.startswith("late at") for fault in wrong)


@pytest.mark.parametrize("name", ["C101", "R105"])
def test_rounds_come_within_five_per_cent_of_best_known(name):
    instance = read_instance(DATA / f"{name}.vrp")
    best = read_solution(DATA / f"{name}.sol")[1]

    plan = plan_rounds(as_rounds(instance), Effort(iterations=1600, seconds=None, seeds=(1, 2)))
    distance, wrong = check(instance, routes_of(plan))

    assert wrong == []
    assert best <= distance <= best * 1.05


def test_visits_of_a_week_reach_the_published_length():
    path = SHARED / "pvrp" / "p03.txt"
    if not path.exists():
        pytest.skip("the periodic instances are kept beside the project, in shared/benchmarks/pvrp")
    problem, lengths = _week_of(path)

    plan = plan_rounds(problem, Effort(iterations=3000, seconds=None, seeds=(1, 2)))

    assert plan.unplaced == ()
    routes = [[0, *(int(stop.visit) for stop in each.stops), 0] for each in plan.rounds]
    length = sum(lengths[one, two] for route in routes for one, two in pairwise(route))
    assert 524.60 <= length <= 524.61 * 1.02


def _week_of(path: Path) -> tuple[RoundsProblem, np.ndarray]:
    rows = [line.split() for line in path.read_text(encoding="utf-8").splitlines() if line.split()]
    days, capacity = int(rows[0][3]), int(rows[1][1])
    points = [(float(row[1]), float(row[2])) for row in rows[1 + days :]]
    demand = [int(row[4]) for row in rows[1 + days :]]
    lengths = np.array([[hypot(x - u, y - v) for u, v in points] for x, y in points])
    places = tuple(str(number) for number in range(len(points)))
    crew = Crew(id="crew", start="0", capacity={"load": capacity})
    horizon = Horizon(first=DAY, days=days, minutes_per_day=10**6)
    visits = tuple(
        VisitRequest(
            id=place,
            site=place,
            opens=DAY,
            closes=horizon.last,
            minutes=1,
            loads={"load": demand[int(place)]},
            prize=1_000_000,
        )
        for place in places[1:]
    )
    problem = RoundsProblem(
        horizon=horizon,
        crews=(crew,),
        crew_days=tuple(
            CrewDay(crew="crew", day=horizon.day(number), starts=0, ends=10**6, break_minutes=0)
            for number in range(days)
        ),
        visits=visits,
        travel=TravelMatrix(places, np.round(lengths * 100).astype(np.int64), lengths),
        weights=Weights(even_load=0),
    )
    return problem, lengths
