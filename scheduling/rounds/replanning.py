"""A plan mended after rain, sickness, a visit called off or a new urgent one: as little changed as needed.

Four stages, each only if visits are still left out after the one before:
held    every untouched visit keeps its crew and day, the hit and new ones are put where they cost least
bumped  one untouched visit at a time steps aside, to a place of its own, for one that has none
nearby  days round the trouble are searched anew, with a price on leaving the planned day
all     every day is searched anew, with the same price
After each stage whatever moved without need is put back.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from scheduling.rounds.changes import Change, changes_between, hits_of
from scheduling.rounds.checks import Sifted, sift
from scheduling.rounds.insertion import Insertion, Sequences, best_insertion, insertions, mend, put_in, wishes_missed
from scheduling.rounds.lookup import CrewDayKey, Lookup
from scheduling.rounds.model import Model, write_model
from scheduling.rounds.plan import Progress, Round, RoundPlan
from scheduling.rounds.planning import draw_up
from scheduling.rounds.routing import Budget, Routes
from scheduling.rounds.search import search
from scheduling.rounds.stages import Effort, Log, may_be_by_day
from scheduling.rounds.timetable import timetable
from scheduling.rounds.values import RoundsProblem
from scheduling.rounds.ways import Hold, Shape

Stage = Literal["held", "bumped", "nearby", "all"]
STAY_BONUS = 300
"""What leaving its planned day costs a visit [minutes of driving]."""
CREW_PRICE = 100
"""What leaving its planned crew costs."""
KNOWN_ORDER_MINUTES = 15
"""Minutes of driving that keeping the order of a round may cost."""
DAYS_ROUND_TROUBLE = 2
"""Working days before and after a hit day that are searched anew in the third stage."""
STAGE_WORDS: Mapping[Stage, str] = {
    "held": "looking for room without moving another visit",
    "bumped": "letting one visit step aside for another",
    "nearby": "searching the days round the trouble anew",
    "all": "searching all days anew",
}
STAGE_SHARE = {"held": 0.25, "nearby": 0.6, "all": 0.9}
"""Part of the time that has passed when a stage ends; the rest is for reasons and times."""


@dataclass(frozen=True, kw_only=True)
class Replan:
    """The mended plan and what changed: ``untouched`` visits could have stayed, ``moved`` of them did not."""

    plan: RoundPlan
    changes: tuple[Change, ...]
    stage: Stage
    untouched: int
    moved: int


def replan(problem: RoundsProblem, before: RoundPlan, effort: Effort | None = None) -> Replan:
    """Mend a plan for a problem that has changed since.

    ``problem`` is the problem as it is now: shifts taken out, days marked wet, visits added, changed or taken out.
    Visits whose crew, day and round still hold are left alone as far as the others can be placed without them.
    """
    effort = effort or Effort(seconds=10.0)
    sifted = sift(problem)
    lookup = Lookup(sifted.problem)
    return _Mender(sifted, lookup, before, effort).run()


class _Mender:
    def __init__(self, sifted: Sifted, lookup: Lookup, before: RoundPlan, effort: Effort) -> None:
        self.sifted, self.lookup, self.before, self.effort = sifted, lookup, before, effort
        self.began = time.perf_counter()
        self.iterations = 0
        self.was_stopped = False
        self._fitting: dict[str, bool] = {}
        self.hits = hits_of(lookup, before)
        self.home: Mapping[str, CrewDayKey] = {
            visit: key
            for visit, key in before.places.items()
            if visit in lookup.visits and visit not in self.hits and lookup.visits[visit].lock is None
        }

    def run(self) -> Replan:
        sequences = self._kept()
        stage: Stage = "held"
        for stage in ("held", "bumped", "nearby", "all"):
            self._tell(stage, len(self.lookup.visits) - len(self._missing(sequences)))
            found = self._put_back(self._stage(stage, sequences))
            sequences = min(sequences, found, key=self._rank) if stage != "held" else found
            if self.was_stopped or not self._missing(sequences):
                break
        plan = draw_up(self.sifted, self.lookup, sequences, self._log())
        moved = sum(1 for visit, key in self.home.items() if plan.places.get(visit) != key)
        changes = changes_between(self.lookup, self.before, plan, self.hits)
        return Replan(plan=plan, changes=changes, stage=stage, untouched=len(self.home), moved=moved)

    def _kept(self) -> Sequences:
        """What is left of the old rounds when the hit visits are taken out."""
        kept: Sequences = {}
        for key, sequence in self.before.sequences.items():
            if rest := tuple(visit for visit in sequence if visit in self.lookup.visits and visit not in self.hits):
                kept[key] = rest
        locks = [visit for visit in self.lookup.visits.values() if visit.lock]
        placed = {visit for sequence in kept.values() for visit in sequence}
        return put_in(self.lookup, kept, [visit.id for visit in locks if visit.id not in placed])

    def _stage(self, stage: Stage, sequences: Sequences) -> Sequences:
        if stage == "bumped":
            return self._bump(sequences)
        filled = put_in(self.lookup, sequences, self._missing(sequences))
        if stage == "held" and not self._missing(filled) and not self._may_gain(filled):
            return filled
        return min(filled, self._search(stage, filled), key=self._rank)

    def _may_gain(self, sequences: Sequences) -> bool:
        """Whether visits that had to move lie outside their best part, where a second choice may do better.

        One after the other they take the cheapest gap; searched together, and the held ones reordered within their
        days, they may all come into their best part or drive less.
        """
        return any(
            not self.lookup.visits[visit].is_best_on(day)
            for (_, day), sequence in sequences.items()
            for visit in sequence
            if visit in self.hits
        )

    def _missing(self, sequences: Sequences) -> list[str]:
        """Visits that should be placed and are not. Optional ones may stay out; what fits no day at all moves nothing."""
        placed = {visit for sequence in sequences.values() for visit in sequence}
        return [
            visit.id
            for visit in self.lookup.visits.values()
            if visit.id not in placed and not visit.is_optional and self._fits_alone(visit.id)
        ]

    def _fits_alone(self, visit: str) -> bool:
        """Whether any crew-day could take the visit if it had no other."""
        if visit not in self._fitting:
            self._fitting[visit] = bool(insertions(self.lookup, {}, visit))
        return self._fitting[visit]

    def _rank(self, sequences: Sequences) -> tuple[int, int, int, int]:
        """Fewest urgent visits out, fewest out, fewest moved, least driving with the wishes missed."""
        missing = self._missing(sequences)
        urgent = sum(1 for visit in missing if self.lookup.visits[visit].is_urgent)
        where = {visit: key for key, sequence in sequences.items() for visit in sequence}
        moved = sum(1 for visit, key in self.home.items() if where.get(visit) != key)
        return urgent, len(missing), moved, self._drive(sequences) + self._wishes_missed(sequences)

    def _drive(self, sequences: Sequences) -> int:
        rounds = [timetable(self.lookup, self.lookup.crew_days[key], sequence) for key, sequence in sequences.items()]
        return sum(each.drive_minutes for each in rounds if isinstance(each, Round))

    def _wishes_missed(self, sequences: Sequences) -> int:
        """What best parts and known crews that are missed are worth. [minutes of driving]"""
        return sum(
            wishes_missed(self.lookup, self.lookup.visits[visit], self.lookup.crew_days[key])
            for key, sequence in sequences.items()
            for visit in sequence
        )

    def _search(self, stage: Stage, sequences: Sequences) -> Sequences:
        seconds = self._seconds_for(stage)
        if (self.effort.iterations is None and seconds <= 0) or self.was_stopped:
            return sequences
        model = write_model(self.lookup, Shape(by_day=may_be_by_day(self.lookup), holds=self._holds(stage)))
        routes = search(
            model.problem,
            Budget(
                seconds=None if self.effort.iterations is not None else seconds,
                iterations=self.effort.iterations,
                seeds=tuple(self.effort.seeds),
                on_progress=self._reporter(stage, model) if self.effort.on_progress else None,
                should_stop=self._asks_to_stop,
                start=model.routes(sequences),
            ),
        )
        self.iterations += routes.iterations
        return mend(self.lookup, model.sequences(routes.routes))

    def _reporter(self, stage: Stage, model: Model) -> Callable[[float, int, Routes], None]:
        def report(_: float, iterations: int, best: Routes) -> None:
            self._tell(stage, len(model.problem.visits_in(best.routes)), iterations, best.cost)

        return report

    def _tell(self, stage: Stage, placed: int, iterations: int = 0, best: int = 0) -> None:
        if self.effort.on_progress is not None:
            self.effort.on_progress(
                Progress(
                    seconds=time.perf_counter() - self.began,
                    of_seconds=self.effort.seconds or 0.0,
                    placed=placed,
                    asked=len(self.lookup.visits),
                    iterations=self.iterations + iterations,
                    best=best,
                    stage=STAGE_WORDS[stage],
                )
            )

    def _seconds_for(self, stage: Stage) -> float:
        return (self.effort.seconds or 0.0) * STAGE_SHARE[stage] - (time.perf_counter() - self.began)

    def _asks_to_stop(self) -> bool:
        if self.effort.should_stop is not None and self.effort.should_stop():
            self.was_stopped = True
        return self.was_stopped

    def _holds(self, stage: Stage) -> dict[str, Hold]:
        free = self._days_round_trouble() if stage == "nearby" else set(self.lookup.working_days)
        return {
            visit: Hold(
                crew=crew,
                day=day,
                is_firm=stage == "held" or day not in free,
                stay_bonus=STAY_BONUS,
                crew_price=CREW_PRICE,
            )
            for visit, (crew, day) in self.home.items()
        }

    def _days_round_trouble(self) -> set[date]:
        days = list(self.lookup.working_days)
        troubled = {self.before.places[visit][1] for visit in self.hits if visit in self.before.places}
        for visit in self.lookup.visits.values():
            if visit.id not in self.before.places:
                troubled |= set(self.lookup.days_for(visit)[: DAYS_ROUND_TROUBLE + 1])
        spots = [number for number, day in enumerate(days) if day in troubled]
        reach = range(-DAYS_ROUND_TROUBLE, DAYS_ROUND_TROUBLE + 1)
        return {days[spot + step] for spot in spots for step in reach if 0 <= spot + step < len(days)}

    def _bump(self, sequences: Sequences) -> Sequences:
        result = dict(sequences)
        missing = sorted(self._missing(result), key=lambda each: not self.lookup.visits[each].is_urgent)
        for visit in missing:
            if self._is_out_of_time():
                break
            pairs = self._bumps(result, visit)
            if moves := min(pairs, default=None, key=lambda pair: pair[0]):
                result |= {placed.key: placed.round.visits for placed in moves[1]}
            elif self.lookup.visits[visit].is_urgent and (taken := self._displace(result, visit)):
                result[taken.key] = taken.round.visits
        return result

    def _is_out_of_time(self) -> bool:
        return self._asks_to_stop() or (self.effort.iterations is None and self._seconds_for("nearby") < 0)

    def _bumps(self, sequences: Sequences, visit: str) -> Iterator[tuple[int, tuple[Insertion, Insertion]]]:
        """The visit in the place of another that has a place elsewhere: every such pair, with what it costs."""
        for taken, other in self._swaps(sequences, visit):
            rest = {**sequences, taken.key: taken.round.visits}
            for moved in insertions(self.lookup, rest, other)[:1]:
                stays = 0 if other in self.hits else STAY_BONUS
                yield moved.extra_cost + taken.extra_cost + stays, (taken, moved)

    def _displace(self, sequences: Sequences, visit: str) -> Insertion | None:
        """An urgent visit in the place of an ordinary one that is left out: the one with the most time left."""
        swaps = [swap for swap in self._swaps(sequences, visit) if not self.lookup.visits[swap[1]].is_urgent]
        best = max(swaps, default=None, key=lambda swap: (self.lookup.visits[swap[1]].closes, -swap[0].extra_cost))
        return best[0] if best else None

    def _swaps(self, sequences: Sequences, visit: str) -> Iterator[tuple[Insertion, str]]:
        """Every unlocked visit whose place would do for this one."""
        for key, sequence in sequences.items():
            day = self.lookup.crew_days[key]
            if self.lookup.bar(self.lookup.visits[visit], day):
                continue
            for other in sequence:
                if self.lookup.visits[other].lock is None:
                    rest = tuple(each for each in sequence if each != other)
                    taken = best_insertion(self.lookup, day, rest, visit)
                    if isinstance(taken, Insertion):
                        yield taken, other

    def _put_back(self, sequences: Sequences) -> Sequences:
        """Let visits that moved without need go home."""
        result = dict(sequences)
        for visit, key in self.home.items():
            where = next((other for other, sequence in result.items() if visit in sequence), None)
            if where is None or where == key or key not in self.lookup.crew_days:
                continue
            placed = best_insertion(self.lookup, self.lookup.crew_days[key], result.get(key, ()), visit)
            if isinstance(placed, Insertion):
                result[where] = tuple(each for each in result[where] if each != visit)
                result[key] = placed.round.visits
        return {key: self._in_old_order(key, sequence) for key, sequence in result.items() if sequence}

    def _in_old_order(self, key: CrewDayKey, sequence: Sequence[str]) -> tuple[str, ...]:
        """The round in the order people know, newcomers put between, unless that costs more driving than it is worth."""
        known = [visit for visit in self.before.sequences.get(key, ()) if visit in sequence]
        day = self.lookup.crew_days[key]
        order: Sequence[str] = known
        for visit in sequence:
            if visit not in known:
                placed = best_insertion(self.lookup, day, order, visit)
                if not isinstance(placed, Insertion):
                    return tuple(sequence)
                order = placed.round.visits
        old, new = timetable(self.lookup, day, order), timetable(self.lookup, day, sequence)
        if not isinstance(old, Round):
            return tuple(sequence)
        is_dear = isinstance(new, Round) and old.drive_minutes > new.drive_minutes + KNOWN_ORDER_MINUTES
        return tuple(sequence) if is_dear else tuple(order)

    def _log(self) -> Log:
        return Log(time.perf_counter() - self.began, self.iterations, self.was_stopped)
