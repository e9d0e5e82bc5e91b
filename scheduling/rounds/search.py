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
MANY_PROFILES = 4
"""With more profiles most neighbours of a visit are closed to it on most days; fewer of them are tried, and quicker."""


@dataclass(frozen=True, kw_only=True)
class Habits:
    """How the search spends its time; found by trying on published instances.

    ``memory_share`` is the search's memory as a part of the iterations it has ahead: a short run must be greedy, a long
    one can afford patience. With ``few_visits`` the search ends when nothing better was found for ``patience_seconds``.
    """

    probe_iterations: int = 40
    opening_share_small: float = 0.35
    opening_share_large: float = 0.35
    whole_visits: int = 130
    piece_visits: int = 160
    generation_share: float = 0.05
    memory_share: float = 0.01
    least_memory: int = 20
    most_memory: int = 300
    later_memory: int = 30
    neighbours: int = 30
    neighbours_by_day: int = 20
    pool: int = 8
    few_visits: int = 40
    patience_seconds: float = 3.0

    def memory(self, iterations: float) -> int:
        """Steps the search looks back when it has that many ahead."""
        return int(min(self.most_memory, max(self.least_memory, iterations * self.memory_share)))


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
        is_by_day = len(problem.times) > MANY_PROFILES
        self.neighbours = self.habits.neighbours_by_day if is_by_day else self.habits.neighbours
        self.shown: Routes | None = None
        self.better_at = self.began
        self.is_small = len(problem.ways_of) <= self.habits.few_visits
        self.seconds_per_iteration = 0.01

    def run(self) -> Routes:
        """Open, then generation after generation until the budget is spent."""
        self._open(tuple(self.budget.start))
        while not self._is_over(1.0):
            if self._is_large(self.pool[0]):
                self._improve_pieces()
            else:
                self._cross()
        return replace(self.pool[0], iterations=self.iterations)

    def _is_large(self, routes: Routes) -> bool:
        return len(self.problem.visits_in(routes.routes)) > self.habits.whole_visits

    def _open(self, start: tuple[Route, ...]) -> None:
        """Every thread searches the whole: a few steps to see how fast it goes, then with the memory that suits."""
        if start:
            self._keep(price(self.problem, start))
        habits, threads = self.habits, len(self.budget.seeds)
        probes = [self._burst(habits.probe_iterations, seed, habits.least_memory) for seed in self.budget.seeds]
        began = time.perf_counter()
        found = self._side_by_side([partial(run, self.problem, start, burst) for burst in probes])
        self.seconds_per_iteration = (time.perf_counter() - began) / habits.probe_iterations
        for routes in found:
            self._keep(routes)
        share = habits.opening_share_large if self._is_large(found[0]) else habits.opening_share_small
        ahead = self._iterations_ahead(share)
        limit = ahead if self.budget.seconds is None else NO_LIMIT
        bursts = [
            # One thread may leave visits out and come back to them, the next may not and is quicker.
            replace(
                self._burst(limit, seed, habits.memory(ahead), share), keeps_placed=number % 2 == 1, tell=self._hear
            )
            for number, seed in enumerate(self.budget.seeds)
        ]
        jobs = [partial(run, self.problem, probe.routes, burst) for probe, burst in zip(found, bursts, strict=True)]
        began, before = time.perf_counter(), self.iterations
        for routes in self._side_by_side(jobs):
            self._keep(routes)
        self.seconds_per_iteration = (time.perf_counter() - began) * threads / max(1, self.iterations - before)

    def _hear(self, routes: Routes) -> None:
        """A better answer from a running thread, to be shown; the thread hands it in again when it ends."""
        if self.shown is None or routes.rank < self.shown.rank:
            self.shown = routes
            self.better_at = time.perf_counter()

    def _iterations_ahead(self, share: float) -> int:
        """Iterations per thread until that share of the budget is spent."""
        if self.budget.iterations is not None:
            left = self.budget.iterations * share - self.iterations
            return max(1, int(left / len(self.budget.seeds)))
        left_seconds = (self.budget.seconds or 0.0) * share - (time.perf_counter() - self.began)
        return max(1, int(left_seconds / self.seconds_per_iteration))

    def _cross(self) -> None:
        """Children of two good answers each, one per thread."""
        length = self._generation_length()
        jobs = []
        for seed in self.budget.seeds:
            one, two = self.random.choices(self.pool, k=2)
            child = cross(self.problem, one.routes, two.routes, self.random) if one is not two else one.routes
            burst = self._burst(length, self._fresh(seed), self.habits.later_memory)
            jobs.append(partial(run, self.problem, child, burst))
        for found in self._side_by_side(jobs):
            self._keep(found)

    def _improve_pieces(self) -> None:
        """The best answer cut up, and its pieces improved side by side."""
        best = self.pool[0]
        visits = len(self.problem.visits_in(best.routes))
        threads = len(self.budget.seeds)
        count = threads * max(1, round(visits / self.habits.piece_visits / threads))
        length = self._generation_length()
        pieces = cut(self.problem, best.routes, count, self.random)
        jobs = [
            partial(
                _improve,
                piece,
                replace(
                    self._burst(length, self._fresh(number), self.habits.later_memory),
                    keeps_placed=self.random.random() < 0.5,
                ),
            )
            for number, piece in enumerate(pieces)
        ]
        routes = tuple(route for part in self._side_by_side(jobs) for route in part.routes)
        self._keep(price(self.problem, routes))

    def _generation_length(self) -> int:
        """Iterations per job of one generation: long enough to get somewhere, short enough to have many."""
        return max(200, int(self._whole_budget() * self.habits.generation_share))

    def _whole_budget(self) -> float:
        """Iterations per thread of the whole budget."""
        if self.budget.iterations is not None:
            return self.budget.iterations / len(self.budget.seeds)
        return (self.budget.seconds or 0.0) / self.seconds_per_iteration

    def _fresh(self, salt: int) -> int:
        return (self.random.randrange(2**31) + salt) % 2**31

    def _burst(self, iterations: int, seed: int, memory: int, share: float = 1.0) -> Burst:
        if self.budget.iterations is not None:
            iterations = min(iterations, max(1, self.budget.iterations - self.iterations))
        return Burst(
            iterations=iterations,
            seed=seed,
            memory=memory,
            neighbours=self.neighbours,
            should_stop=lambda: self._is_over(share),
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
        best = min(
            [*self.pool[:1], *([self.shown] if self.shown else [])], key=lambda routes: routes.rank, default=None
        )
        if self.budget.on_progress is not None and best is not None:
            self.budget.on_progress(time.perf_counter() - self.began, self.iterations, best)

    def _keep(self, found: Routes) -> None:
        """Into the pool, unless its like is there."""
        if not self.pool or found.rank < self.pool[0].rank:
            self.better_at = time.perf_counter()
        if all(found.rank != known.rank for known in self.pool):
            self.pool = sorted([*self.pool, found], key=lambda routes: routes.rank)[: self.habits.pool]

    def _is_over(self, share: float) -> bool:
        budget = self.budget
        if self.halted:
            return True
        now = time.perf_counter()
        if budget.seconds is not None and now - self.began > budget.seconds * share:
            return True
        if budget.seconds is not None and self.is_small and now - self.better_at > self.habits.patience_seconds:
            return True
        return budget.iterations is not None and self.iterations >= budget.iterations


def _improve(piece: Piece, burst: Burst) -> Routes:
    """The piece's better routes, in the numbers of the whole."""
    found = run(piece.problem, piece.start, burst)
    routes = found.routes if found.is_feasible or not piece.start else piece.start
    return replace(found, routes=piece.home(routes))
