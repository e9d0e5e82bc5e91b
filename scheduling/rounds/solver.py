"""The routing library behind one function. No other module imports it.

The library searches on one thread and releases the interpreter lock while it does; one thread per seed, and the best
answer kept, costs no time on a machine with a core for each.
"""

from __future__ import annotations

import threading
import time
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field

import pyvrp
import pyvrp.stop
from pyvrp.exceptions import PenaltyBoundWarning

from scheduling.rounds.routing import Budget, Route, Routes, RoutingProblem

WAKE_SECONDS = 0.1


@dataclass
class _Search:
    """One seed's search: what it found so far, shared with the waiting thread."""

    data: pyvrp.ProblemData
    budget: Budget
    seed: int
    halt: threading.Event
    iterations: int = 0
    best: pyvrp.Solution | None = None
    best_cost: int | None = None
    result: pyvrp.Result | None = None
    failure: BaseException | None = None
    began: float = field(default_factory=time.perf_counter)

    def stop(self, best_cost: float) -> bool:
        """Asked by the library before every iteration."""
        budget = self.budget
        if budget.iterations is not None and self.iterations >= budget.iterations:
            return True
        if budget.seconds is not None and time.perf_counter() - self.began > budget.seconds:
            return True
        self.iterations += 1
        return self.halt.is_set()

    def run(self) -> None:
        """Search until told to stop. Failures are kept for the waiting thread."""
        callbacks = _Best(self)
        params = pyvrp.SolveParams(ils=pyvrp.IteratedLocalSearchParams(callbacks=callbacks))
        start = _solution(self.data, self.budget.start) if self.budget.start else None
        try:
            self.result = pyvrp.solve(
                self.data, self.stop, self.seed, collect_stats=False, params=params, initial_solution=start
            )
        except BaseException as failure:  # noqa: BLE001 - raised again by the waiting thread
            self.failure = failure


class _Best(pyvrp.IteratedLocalSearchCallbacks):  # type: ignore[misc]
    """Notes each new best answer where the waiting thread can see it."""

    def __init__(self, search: _Search) -> None:
        self.search = search

    def on_best(self, best: pyvrp.Solution) -> None:
        self.search.best = best


def solve(problem: RoutingProblem, budget: Budget) -> Routes:
    """The best routes found within the budget.

    Raises:
        ValueError: neither seconds nor iterations are given, or no seed.
    """
    if (budget.seconds is None and budget.iterations is None) or not budget.seeds:
        raise ValueError("give seconds or iterations, and at least one seed")
    began = time.perf_counter()
    data = _data(problem)
    halt = threading.Event()
    searches = [_Search(data, budget, seed, halt) for seed in budget.seeds]
    # Only the default filter of this process is touched, and only while the threads run: the warning says that one
    # penalty reached its bound, which the caller sees anyway from `is_feasible`.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PenaltyBoundWarning)
        threads = [threading.Thread(target=search.run, daemon=True) for search in searches]
        for thread in threads:
            thread.start()
        try:
            _wait(threads, searches, budget, halt, began)
        finally:
            halt.set()
            for thread in threads:
                thread.join()
    for search in searches:
        if search.failure is not None:
            raise search.failure
    results = [search.result for search in searches if search.result is not None]
    best = min(results, key=lambda result: (not result.is_feasible(), result.cost()))
    return Routes(
        routes=_routes(best.best),
        cost=int(best.cost()) if best.is_feasible() else -1,
        is_feasible=best.is_feasible(),
        iterations=sum(search.iterations for search in searches),
        seconds=time.perf_counter() - began,
    )


def _wait(
    threads: list[threading.Thread], searches: list[_Search], budget: Budget, halt: threading.Event, began: float
) -> None:
    evaluator = pyvrp.CostEvaluator([1.0] * searches[0].data.num_load_dimensions, 1.0, 0.0)
    shown: int | None = None
    while any(thread.is_alive() for thread in threads):
        for thread in threads:
            thread.join(WAKE_SECONDS)
        if budget.should_stop is not None and budget.should_stop():
            halt.set()
        if budget.on_progress is None:
            continue
        found = [best for search in searches if (best := search.best) is not None and best.is_feasible()]
        if found:
            best = min(found, key=evaluator.cost)
            cost = int(evaluator.cost(best))
            shown = cost if shown is None else min(shown, cost)
            iterations = sum(search.iterations for search in searches)
            budget.on_progress(time.perf_counter() - began, iterations, shown, _routes(best))


def _data(problem: RoutingProblem) -> pyvrp.ProblemData:
    size = len(problem.times[0])
    groups = [pyvrp.ClientGroup([], required=False) for _ in range(problem.groups)]
    clients = []
    for number, client in enumerate(problem.clients):
        if client.group is not None:
            groups[client.group].add_client(number)
        clients.append(
            pyvrp.Client(
                client.place,
                delivery=list(client.loads),
                service_duration=client.service,
                tw_early=client.early,
                tw_late=client.late,
                prize=client.prize,
                required=client.is_required and client.group is None,
                group=client.group,
            )
        )
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
        [pyvrp.Location(0, 0) for _ in range(size)],
        clients,
        [pyvrp.Depot(place) for place in range(problem.depots)],
        vehicles,
        list(problem.costs),
        list(problem.times),
        groups,
    )


def _solution(data: pyvrp.ProblemData, routes: Sequence[Route]) -> pyvrp.Solution:
    return pyvrp.Solution(data, [pyvrp.Route(data, list(clients), vehicle) for vehicle, clients in routes if clients])


def _routes(solution: pyvrp.Solution) -> tuple[Route, ...]:
    return tuple(
        (route.vehicle_type(), tuple(activity.idx for activity in route if activity.is_client()))
        for route in solution.routes()
    )
