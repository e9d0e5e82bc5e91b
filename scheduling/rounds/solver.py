"""The routing library behind one function. No other module imports it.

The library searches on the calling thread and releases the interpreter lock while it does, so that several searches
run side by side.
"""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import pyvrp
from pyvrp.exceptions import PenaltyBoundWarning
from pyvrp.search import NeighbourhoodParams

from scheduling.rounds.routing import Route, Routes, RoutingProblem

TELL_SECONDS = 0.2


@dataclass(frozen=True, kw_only=True)
class Burst:
    """One run of the library's iterated local search.

    ``memory`` is how many steps back a candidate may be compared with (short: greedy and quick, long: patient),
    ``neighbours`` how many places near each one are tried. ``keeps_placed`` makes the visits of the start compulsory:
    quicker, where the set of visits is settled. ``should_stop`` is asked before every iteration; ``tell`` hears, on the
    searching thread, of better answers a few times a second.
    """

    iterations: int
    seed: int
    memory: int = 100
    neighbours: int = 30
    keeps_placed: bool = False
    should_stop: Callable[[], bool] = field(default=lambda: False)
    tell: Callable[[Routes], None] | None = None


def run(problem: RoutingProblem, start: Sequence[Route], burst: Burst) -> Routes:
    """Improve the start, or build routes from nothing if it is empty."""
    compulsory = problem.visits_in(start) if burst.keeps_placed else set()
    data = _data(problem, compulsory)
    counter = _Counter(burst)
    params = pyvrp.SolveParams(
        ils=pyvrp.IteratedLocalSearchParams(history_length=burst.memory, callbacks=_Teller(data, burst)),
        neighbourhood=NeighbourhoodParams(num_neighbours=burst.neighbours),
    )
    initial = _solution(data, start) if start else None
    result = pyvrp.solve(data, counter, burst.seed, collect_stats=False, params=params, initial_solution=initial)
    return _read(data, result.best, counter.count)


def price(problem: RoutingProblem, routes: Sequence[Route]) -> Routes:
    """The cost of routes as they stand, and whether they keep every rule."""
    data = _data(problem, set())
    return _read(data, _solution(data, routes), 0)


def quiet() -> warnings.catch_warnings[None]:
    """Within this context the library does not warn that a penalty reached its bound: `Routes.is_feasible` says it."""
    context = warnings.catch_warnings(action="ignore", category=PenaltyBoundWarning)
    return context


@dataclass
class _Counter:
    """Counts iterations and says when to stop. One short burst beyond the start is always allowed."""

    burst: Burst
    count: int = 0

    def __call__(self, best_cost: float) -> bool:
        if self.count >= self.burst.iterations or self.burst.should_stop():
            return True
        self.count += 1
        return False


class _Teller(pyvrp.IteratedLocalSearchCallbacks):  # type: ignore[misc]
    """Hands better answers on, not more often than a person can look."""

    def __init__(self, data: pyvrp.ProblemData, burst: Burst) -> None:
        self.data, self.burst = data, burst
        self.told_at = 0.0

    def on_best(self, best: pyvrp.Solution) -> None:
        """Called by the library with each new best answer."""
        if self.burst.tell is not None and time.perf_counter() - self.told_at > TELL_SECONDS:
            self.told_at = time.perf_counter()
            self.burst.tell(_read(self.data, best, 0))


def _read(data: pyvrp.ProblemData, solution: pyvrp.Solution, iterations: int) -> Routes:
    # Far above any penalty that would let a broken rule look cheap.
    evaluator = pyvrp.CostEvaluator([1e5] * data.num_load_dimensions, 1e5, 0.0)
    routes = tuple(
        (route.vehicle_type(), tuple(activity.idx for activity in route if activity.is_client()))
        for route in solution.routes()
    )
    return Routes(routes, int(evaluator.penalised_cost(solution)), solution.is_feasible(), iterations)


def _data(problem: RoutingProblem, compulsory: set[int]) -> pyvrp.ProblemData:
    must = [client.is_required or client.visit in compulsory for client in problem.clients]
    members: list[list[int]] = [[] for _ in range(problem.groups)]
    for number, client in enumerate(problem.clients):
        if client.group is not None:
            members[client.group].append(number)
    clients = [
        pyvrp.Client(
            client.place,
            delivery=list(client.loads),
            service_duration=client.service,
            tw_early=client.early,
            tw_late=client.late,
            prize=client.prize,
            required=must[number] and client.group is None,
            group=client.group,
        )
        for number, client in enumerate(problem.clients)
    ]
    vehicles = [
        pyvrp.VehicleType(
            vehicle.count,
            capacity=list(vehicle.capacity),
            start_depot=vehicle.start,
            end_depot=vehicle.end,
            tw_early=vehicle.early,
            tw_late=vehicle.late,
            shift_duration=min(vehicle.full, vehicle.longest),
            max_overtime=max(0, vehicle.longest - vehicle.full),
            unit_overtime_cost=vehicle.price_beyond,
            profile=vehicle.profile,
        )
        for vehicle in problem.vehicles
    ]
    return pyvrp.ProblemData(
        [pyvrp.Location(0, 0) for _ in range(len(problem.times[0]))],
        clients,
        [pyvrp.Depot(place) for place in range(problem.depots)],
        vehicles,
        list(problem.costs),
        list(problem.times),
        [pyvrp.ClientGroup(group, required=any(must[member] for member in group)) for group in members],
    )


def _solution(data: pyvrp.ProblemData, routes: Sequence[Route]) -> pyvrp.Solution:
    return pyvrp.Solution(data, [pyvrp.Route(data, list(clients), vehicle) for vehicle, clients in routes if clients])
