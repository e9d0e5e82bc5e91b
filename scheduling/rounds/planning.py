"""Visits to crew-days and their order: check, write, search, walk through, account."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from scheduling.rounds.checks import Sifted, sift
from scheduling.rounds.insertion import Sequences, mend, put_in
from scheduling.rounds.lookup import CrewDayKey, Lookup
from scheduling.rounds.model import Model, Shape, write_model
from scheduling.rounds.numbers import numbers_of
from scheduling.rounds.plan import Progress, Round, RoundPlan
from scheduling.rounds.reasons import reason_for
from scheduling.rounds.routing import Budget, Routes
from scheduling.rounds.search import search
from scheduling.rounds.timetable import timetable
from scheduling.rounds.values import RoundsProblem

COARSE_SHARE = 1 / 3
"""Part of the time spent without best parts before they are weighed: from cold the full problem is searched badly."""


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How long to plan. ``iterations`` instead of ``seconds`` makes a run repeatable.

    One thread per seed. ``on_progress`` is called in the caller's thread a few times a second; ``should_stop`` is asked
    as often, and a stopped run hands back the best plan so far.
    """

    seconds: float | None = 30.0
    iterations: int | None = None
    seeds: Sequence[int] = (1, 2)
    on_progress: Callable[[Progress], None] | None = None
    should_stop: Callable[[], bool] | None = None


def plan_rounds(problem: RoundsProblem, effort: Effort | None = None, start: RoundPlan | None = None) -> RoundPlan:
    """Lay the visits of a horizon into rounds.

    Wanted in this order: placed (urgent before ordinary before optional), in the best part, little driving, the crew
    the client knows, even load. What is wrong in the input is named in ``faults`` and left out; the rest is planned.
    ``start`` is an earlier plan to go on from.
    """
    effort = effort or Effort()
    began = time.perf_counter()
    sifted = sift(problem)
    lookup = Lookup(sifted.problem)
    search = _Search(lookup, effort, began)
    sequences = search.run(start.sequences if start else {})
    return draw_up(sifted, lookup, sequences, search.log(began))


@dataclass(frozen=True)
class Log:
    """How the search went."""

    seconds: float = 0.0
    iterations: int = 0
    was_stopped: bool = False


class _Search:
    """The two steps: coarse without best parts, then in full from there."""

    def __init__(self, lookup: Lookup, effort: Effort, began: float) -> None:
        self.lookup, self.effort, self.began = lookup, effort, began
        self.iterations = 0
        self.was_stopped = False

    def run(self, start: Mapping[CrewDayKey, Sequence[str]]) -> Sequences:
        if not self.lookup.crew_days or not self.lookup.visits:
            return {}
        sequences: Mapping[CrewDayKey, Sequence[str]] = start
        shapes = self._shapes(has_start=bool(start))
        for shape, share in shapes:
            sequences = self._step(shape, share, sequences)
            if self.was_stopped:
                break
        return mend(self.lookup, sequences)

    def _shapes(self, *, has_start: bool) -> list[tuple[Shape, float]]:
        has_best = any(visit.best_from for visit in self.lookup.visits.values())
        if has_best and not has_start:
            return [(Shape(with_best_part=False), COARSE_SHARE), (Shape(), 1.0)]
        return [(Shape(), 1.0)]

    def _step(
        self, shape: Shape, share: float, start: Mapping[CrewDayKey, Sequence[str]]
    ) -> Mapping[CrewDayKey, Sequence[str]]:
        model = write_model(self.lookup, shape)
        if not model.visit_ids:
            return {}
        effort = self.effort
        seconds = None
        if effort.iterations is None:
            left = (effort.seconds or 0.0) - (time.perf_counter() - self.began)
            seconds = max(0.05, left * share)
        routes = search(
            model.problem,
            Budget(
                seconds=seconds,
                iterations=None if effort.iterations is None else max(1, int(effort.iterations * share)),
                seeds=tuple(effort.seeds),
                on_progress=self._reporter(model) if effort.on_progress else None,
                should_stop=self._asks_to_stop,
                start=model.routes(start),
            ),
        )
        self.iterations += routes.iterations
        return model.sequences(routes.routes)

    def _asks_to_stop(self) -> bool:
        if self.effort.should_stop is not None and self.effort.should_stop():
            self.was_stopped = True
        return self.was_stopped

    def _reporter(self, model: Model) -> Callable[[float, int, Routes], None]:
        def report(_: float, iterations: int, best: Routes) -> None:
            if self.effort.on_progress is not None:
                self.effort.on_progress(
                    Progress(
                        seconds=time.perf_counter() - self.began,
                        of_seconds=self.effort.seconds or 0.0,
                        placed=len(model.problem.visits_in(best.routes)),
                        asked=len(self.lookup.visits),
                        iterations=self.iterations + iterations,
                        best=best.cost,
                    )
                )

        return report

    def log(self, began: float) -> Log:
        """How the search went so far."""
        return Log(time.perf_counter() - began, self.iterations, self.was_stopped)


def draw_up(sifted: Sifted, lookup: Lookup, sequences: Mapping[CrewDayKey, Sequence[str]], log: Log) -> RoundPlan:
    """The plan of these sequences: times, reasons, numbers."""
    placed = {visit for sequence in sequences.values() for visit in sequence}
    missing = [visit for visit in lookup.visits if visit not in placed]
    filled = put_in(lookup, sequences, missing) if missing else dict(sequences)
    rounds = []
    for key in sorted(filled, key=lambda key: (key[1], key[0])):
        found = timetable(lookup, lookup.crew_days[key], filled[key])
        if isinstance(found, Round) and found.stops:
            rounds.append(found)
    placed = {stop.visit for each in rounds for stop in each.stops}
    final = {(each.crew, each.day): each.visits for each in rounds}
    reasons = [reason_for(lookup, final, visit) for visit in lookup.visits if visit not in placed]
    unplaced = (*sifted.refused, *reasons)
    return RoundPlan(
        rounds=tuple(rounds),
        unplaced=unplaced,
        numbers=numbers_of(lookup, rounds, len(unplaced)),
        faults=sifted.faults,
        seconds=round(log.seconds, 3),
        iterations=log.iterations,
        was_stopped=log.was_stopped,
    )
