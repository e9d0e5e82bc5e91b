"""The steps from nothing to a plan: coarse, then in full, large horizons block by block."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduling.rounds.insertion import Sequences, mend
from scheduling.rounds.lookup import CrewDayKey, Lookup
from scheduling.rounds.model import Model, write_model
from scheduling.rounds.plan import Progress
from scheduling.rounds.profiles import bytes_by_day
from scheduling.rounds.routing import Budget, Routes
from scheduling.rounds.search import search
from scheduling.rounds.ways import Shape

COARSE_SHARE = 1 / 3
"""Part of the time spent without best parts before they are weighed: from cold the full problem is searched badly."""
MOST_BYTES_BY_DAY = 48_000_000
"""Matrices by day may take so much; each thread holds them once more."""
BLOCK_VISITS = 160
"""Visits of the days that are searched anew together, where the whole horizon is too large."""
LEAST_BLOCK_DAYS = 4
LEAST_BLOCK_SECONDS = 1.0

Laid = Mapping[CrewDayKey, Sequence[str]]


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


@dataclass(frozen=True)
class Log:
    """How the search went."""

    seconds: float = 0.0
    iterations: int = 0
    was_stopped: bool = False


def may_be_by_day(lookup: Lookup) -> bool:
    """Whether the matrices of every crew and day fit into memory together."""
    return bytes_by_day(lookup) <= MOST_BYTES_BY_DAY


class Stages:
    """One run through the steps."""

    def __init__(self, lookup: Lookup, effort: Effort, began: float) -> None:
        self.lookup, self.effort, self.began = lookup, effort, began
        self.iterations = 0
        self.was_stopped = False
        self.stage = ""

    def run(self, start: Laid) -> Sequences:
        """The visits in order by crew and day, every promise kept."""
        if not self.lookup.crew_days or not self.lookup.visits:
            return {}
        laid = start
        is_small = may_be_by_day(self.lookup)
        has_best = any(visit.best_from for visit in self.lookup.visits.values())
        if not start and (has_best or not is_small):
            self.stage = "finding a place for every visit"
            laid = self._step(self.lookup, Shape(with_best_part=False), laid, COARSE_SHARE)
        if self.was_stopped:
            return mend(self.lookup, laid)
        self.stage = "shortening the rounds, best days first"
        if is_small:
            return mend(self.lookup, self._step(self.lookup, Shape(by_day=True), laid, 1.0))
        return mend(self.lookup, self._sweep(laid))

    def log(self) -> Log:
        """How the search went so far."""
        return Log(time.perf_counter() - self.began, self.iterations, self.was_stopped)

    def _sweep(self, laid: Laid) -> Laid:
        """Search overlapping blocks of days anew, one after the other, from the first to the last."""
        result = dict(laid)
        blocks = self._blocks(result)
        for number, days in enumerate(blocks):
            if self.was_stopped or self._is_over():
                break
            self.stage = f"shortening the rounds, part {number + 1} of {len(blocks)}"
            part = _block(self.lookup, result, days)
            inside = {key: sequence for key, sequence in result.items() if key in part.crew_days}
            outside = {key: sequence for key, sequence in result.items() if key not in part.crew_days}
            found = self._step(part, Shape(by_day=True), inside, 1 / (len(blocks) - number), outside)
            result = outside | dict(found)
        return result

    def _blocks(self, laid: Laid) -> list[tuple[date, ...]]:
        days = self.lookup.working_days
        placed = sum(len(sequence) for sequence in laid.values())
        length = max(LEAST_BLOCK_DAYS, round(BLOCK_VISITS * len(days) / max(1, placed)))
        step = max(1, length // 2)
        blocks = [days[start : start + length] for start in range(0, max(1, len(days) - step), step)]
        if self.effort.seconds is not None and self.effort.iterations is None:
            left = self.effort.seconds - (time.perf_counter() - self.began)
            if left / len(blocks) < LEAST_BLOCK_SECONDS:  # no time for overlaps
                blocks = [days[start : start + length] for start in range(0, len(days), length)]
        return blocks

    def _is_over(self) -> bool:
        is_timed = self.effort.iterations is None and self.effort.seconds is not None
        return is_timed and time.perf_counter() - self.began >= (self.effort.seconds or 0.0)

    def _step(self, lookup: Lookup, shape: Shape, start: Laid, share: float, others: Laid | None = None) -> Laid:
        """One search, in that share of the time that is left. ``others`` lie outside and are only counted."""
        model = write_model(lookup, shape)
        if not model.visit_ids:
            return start
        effort = self.effort
        seconds = None
        if effort.iterations is None:
            left = (effort.seconds or 0.0) - (time.perf_counter() - self.began)
            seconds = max(0.05, left * share)
        placed_elsewhere = sum(len(sequence) for sequence in (others or {}).values())
        routes = search(
            model.problem,
            Budget(
                seconds=seconds,
                iterations=None if effort.iterations is None else max(1, int(effort.iterations * share)),
                seeds=tuple(effort.seeds),
                on_progress=self._reporter(model, placed_elsewhere) if effort.on_progress else None,
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

    def _reporter(self, model: Model, placed_elsewhere: int) -> Callable[[float, int, Routes], None]:
        def report(_: float, iterations: int, best: Routes) -> None:
            if self.effort.on_progress is not None:
                self.effort.on_progress(
                    Progress(
                        seconds=time.perf_counter() - self.began,
                        of_seconds=self.effort.seconds or 0.0,
                        placed=placed_elsewhere + len(model.problem.visits_in(best.routes)),
                        asked=len(self.lookup.visits),
                        iterations=self.iterations + iterations,
                        best=best.cost,
                        stage=self.stage,
                    )
                )

        return report


def _block(lookup: Lookup, laid: Laid, days: Sequence[date]) -> Lookup:
    """The problem of some days: the visits planned there, and those left out that could be made there."""
    chosen = set(days)
    placed = {visit for sequence in laid.values() for visit in sequence}
    inside = {visit for (_, day), sequence in laid.items() if day in chosen for visit in sequence}
    left = {
        visit.id for visit in lookup.visits.values() if visit.id not in placed and chosen & set(lookup.days_for(visit))
    }
    return Lookup(
        replace(
            lookup.problem,
            visits=tuple(visit for visit in lookup.visits.values() if visit.id in inside or visit.id in left),
            # Already cut to daylight by the stops of the whole horizon.
            crew_days=tuple(day for day in lookup.crew_days.values() if day.day in chosen),
            daylight={},
        )
    )
