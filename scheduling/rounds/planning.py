"""Visits to crew-days and their order: check, search, walk through, account."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence

from scheduling.rounds.checks import Sifted, sift
from scheduling.rounds.insertion import put_in
from scheduling.rounds.lookup import CrewDayKey, Lookup
from scheduling.rounds.numbers import numbers_of
from scheduling.rounds.plan import Round, RoundPlan
from scheduling.rounds.reasons import reason_for
from scheduling.rounds.stages import Effort, Log, Stages
from scheduling.rounds.timetable import timetable
from scheduling.rounds.values import RoundsProblem


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
    stages = Stages(lookup, effort, began)
    sequences = stages.run(start.sequences if start else {})
    return draw_up(sifted, lookup, sequences, stages.log())


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
