"""The search for good routes: several threads, several answers, pieces improved side by side.

First every thread searches the whole from its own seed. Then, generation by generation, either the best answer is cut
into pieces that the threads improve side by side (large problems), or two good answers are crossed and the child
improved (small ones). Threads meet after every generation, so that a run bounded by iterations is repeatable.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from functools import partial
from random import Random

from scheduling.rounds.pieces import Piece, cross, cut
from scheduling.rounds.routing import Budget, Route, Routes, RoutingProblem
from scheduling.rounds.solver import Burst, price, quiet, run

WAKE_SECONDS = 0.1
NO_LIMIT = 10**9


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How the search spends its time; found by trying on published instances."""

    opening_share: float = 0.3
    piece_visits: int = 90
    whole_visits: int = 130
    generation_iterations: int = 800
    memory: int = 100
    later_memory: int = 30
    neighbours: int = 30
    pool: int = 8


def search(problem: RoutingProblem, budget: Budget, habits: Habits | None = None) -> Routes:
    """The best routes found within the budget.

    Raises:
        ValueError: neither seconds nor iterations are given, or no seed.
    """
    if (budget.seconds is None and budget.iterations is None) or not budget.seeds:
        raise ValueError("give seconds or iterations, and at least one seed")
    with quiet(), ThreadPoolExecutor(max_workers=len(budget.seeds)) as threads:
        return _Search(problem, budget, habits or Habits(), threads).run()


class _Search:
    def __init__(self, problem: RoutingProblem, budget: Budget, habits: Habits, threads: ThreadPoolExecutor) -> None:
        self.problem, self.budget, self.habits, self.threads = problem, budget, habits, threads
        self.began = time.perf_counter()
        self.halted = False
        self.iterations = 0
        self.random = Random(budget.seeds[0])  # noqa: S311 - a search, no secret
        self.pool: list[Routes] = []

    def run(self) -> Routes:
        """Open, then generation after generation until the budget is spent."""
        start = tuple(self.budget.start)
        if start:
            self._keep(price(self.problem, start))
        self._opening(start)
        while not self._is_over(1.0):
            if len(self.problem.visits_in(self.pool[0].routes)) > self.habits.whole_visits:
                self._improve_pieces()
            else:
                self._cross()
        return replace(self.pool[0], iterations=self.iterations)

    def _opening(self, start: tuple[Route, ...]) -> None:
        share = self.habits.opening_share
        limit = self.budget.iterations
        per_thread = NO_LIMIT if limit is None else max(1, int(limit * share / len(self.budget.seeds)))
        bursts = [
            Burst(
                iterations=per_thread,
                seed=seed,
                memory=self.habits.memory,
                neighbours=self.habits.neighbours,
                should_stop=lambda: self._is_over(share),
            )
            for seed in self.budget.seeds
        ]
        for found in self._side_by_side([partial(run, self.problem, start, burst) for burst in bursts]):
            self._keep(found)

    def _cross(self) -> None:
        jobs = []
        for _ in self.budget.seeds:
            if len(self.pool) > 1:
                one, two = self.random.sample(self.pool, 2)
                child = cross(self.problem, one.routes, two.routes, self.random)
            else:
                child = []
            burst = self._burst(keeps_placed=False)
            jobs.append(partial(run, self.problem, child, burst))
        for found in self._side_by_side(jobs):
            self._keep(found)

    def _improve_pieces(self) -> None:
        best = self.pool[0]
        visits = len(self.problem.visits_in(best.routes))
        count = max(len(self.budget.seeds), round(visits / self.habits.piece_visits))
        pieces = cut(self.problem, best.routes, count, self.random)
        bursts = [self._burst(keeps_placed=self.random.random() < 0.5) for _ in pieces]
        jobs = [partial(_improve, piece, burst) for piece, burst in zip(pieces, bursts, strict=True)]
        routes = tuple(route for part in self._side_by_side(jobs) for route in part.routes)
        self._keep(price(self.problem, routes))

    def _burst(self, *, keeps_placed: bool) -> Burst:
        left = NO_LIMIT if self.budget.iterations is None else max(1, self.budget.iterations - self.iterations)
        return Burst(
            iterations=min(self.habits.generation_iterations, left),
            seed=self.random.randrange(2**31),
            memory=self.habits.later_memory,
            neighbours=self.habits.neighbours,
            keeps_placed=keeps_placed,
            should_stop=lambda: self._is_over(1.0),
        )

    def _side_by_side(self, jobs: Sequence[Callable[[], Routes]]) -> list[Routes]:
        """Run the jobs on the threads; meanwhile report and ask whether to stop, in the caller's thread."""
        waiting: set[Future[Routes]] = set()
        futures = [self.threads.submit(job) for job in jobs]
        try:
            waiting = set(futures)
            while waiting:
                waiting = wait(waiting, timeout=WAKE_SECONDS).not_done
                self._look_up()
        finally:
            self.halted = self.halted or bool(waiting)
        results = [future.result() for future in futures]
        self.iterations += sum(result.iterations for result in results)
        return results

    def _look_up(self) -> None:
        if self.budget.should_stop is not None and self.budget.should_stop():
            self.halted = True
        if self.budget.on_progress is not None and self.pool:
            self.budget.on_progress(time.perf_counter() - self.began, self.iterations, self.pool[0])

    def _keep(self, found: Routes) -> None:
        """Into the pool, unless its like is there."""
        if all(found.rank != known.rank for known in self.pool):
            self.pool = sorted([*self.pool, found], key=lambda routes: routes.rank)[: self.habits.pool]

    def _is_over(self, share: float) -> bool:
        budget = self.budget
        if self.halted:
            return True
        if budget.seconds is not None and time.perf_counter() - self.began > budget.seconds * share:
            return True
        return budget.iterations is not None and self.iterations >= budget.iterations


def _improve(piece: Piece, burst: Burst) -> Routes:
    """The piece's better routes, in the numbers of the whole."""
    found = run(piece.problem, piece.start, burst)
    routes = found.routes if found.is_feasible or not piece.start else piece.start
    return replace(found, routes=piece.home(routes))
