"""Plan made-up seasons and mend them; say how good, how quick, how large.

python -m tests.benchmarks.rounds_season [--part fortnight|twelve_weeks|replan] [--seconds N] [--seed S] [--against LONG]
→ one JSON line per part. ``--against`` plans the fortnight once more with that many seconds and tells how much dearer the
shorter run was, in the weights of the plan (an hour of driving for the best part, 20 minutes for the known crew). ``fortnight`` is 200 visits × 3 crews × 10 days, ``twelve_weeks`` 1,000 × 3 × 60; ``replan`` takes
the fortnight and lets a day turn wet (four visits in five are outdoors), then a crew fall sick for two days with four
new urgent visits and two called off.
"""

from __future__ import annotations

import argparse
import json
import resource
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from scheduling.rounds import (
    Effort,
    Replan,
    RoundPlan,
    RoundsProblem,
    VisitRequest,
    ask_for,
    call_off,
    mark_wet,
    plan_rounds,
    replan,
    take_off,
)
from tests.benchmarks.made_up_season import Season, made_up

FORTNIGHT = Season(visits=200, working_days=10)
TWELVE_WEEKS = Season(visits=1000, working_days=60)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--part", choices=sorted(PARTS), action="append")
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--against", type=float, metavar="LONG", help="seconds of the long run of the fortnight")
    given = parser.parse_args()
    for part in given.part or list(PARTS):
        for line in PARTS[part](given.seconds, given.seed):
            print(json.dumps({"part": part, "seed": given.seed} | line), flush=True)
    if given.against:
        print(json.dumps(against_long(given.seconds or 30.0, given.against, given.seed)), flush=True)


def against_long(seconds: float, long: float, seed: int) -> dict[str, object]:
    """The fortnight in the usual time and in a long one, by what the plan weighs."""
    problem = made_up(replace(FORTNIGHT, seed=seed))
    costs = {}
    for each in (seconds, long):
        plan, _ = _planned(problem, each)
        costs[each] = cost_of(problem, plan)
    return {
        "part": "against",
        "seconds": seconds,
        "long": long,
        "cost_minutes": costs[seconds],
        "long_cost_minutes": costs[long],
        "dearer_percent": round(100 * (costs[seconds] / costs[long] - 1), 2),
        "peak_mb": _peak_mb(),
    }


def cost_of(problem: RoundsProblem, plan: RoundPlan) -> int:
    """Minutes of driving, with what wishes missed and visits left out are worth."""
    weights = problem.weights
    cost = plan.numbers.drive_minutes
    for visit in problem.visits:
        if visit.id not in plan.places:
            cost += weights.urgent if visit.is_urgent else weights.ordinary
            continue
        crew, day = plan.places[visit.id]
        cost += 0 if visit.is_best_on(day) else weights.best_part
        cost += weights.unknown_crew if visit.known_crew not in ("", crew) else 0
    return cost


def fortnight(seconds: float | None, seed: int) -> list[dict[str, object]]:
    """Two weeks from nothing."""
    return [_planned(made_up(replace(FORTNIGHT, seed=seed)), seconds or 30.0)[1]]


def twelve_weeks(seconds: float | None, seed: int) -> list[dict[str, object]]:
    """A season from nothing."""
    return [_planned(made_up(replace(TWELVE_WEEKS, seed=seed)), seconds or 120.0)[1]]


def mending(seconds: float | None, seed: int) -> list[dict[str, object]]:
    """Rain, and sickness with urgent visits, in the middle of a fortnight."""
    problem = made_up(replace(FORTNIGHT, seed=seed))
    plan, _ = _planned(problem, 30.0)
    random = np.random.default_rng(seed)
    days = sorted({each.day for each in plan.rounds})
    outdoor = tuple(replace(visit, is_outdoor=bool(random.random() < 0.8)) for visit in problem.visits)
    rain = mark_wet(replace(problem, visits=outdoor), days[3])
    sick = take_off(take_off(problem, "crew 1", days[2]), "crew 1", days[3])
    for number in range(4):
        site = problem.visits[int(random.integers(len(problem.visits)))].site
        urgent = VisitRequest(
            id=f"urgent {number}", site=site, opens=days[2], closes=days[5], minutes=45, is_urgent=True
        )
        sick = ask_for(sick, urgent)
    for number in random.choice(len(problem.visits), 2, replace=False):
        sick = call_off(sick, problem.visits[int(number)].id)
    return [
        {"event": name} | _mended(changed, plan, seconds or 8.0) for name, changed in [("rain", rain), ("sick", sick)]
    ]


def _planned(problem: RoundsProblem, seconds: float) -> tuple[RoundPlan, dict[str, object]]:
    began = time.perf_counter()
    plan = plan_rounds(problem, Effort(seconds=seconds))
    numbers = plan.numbers
    return plan, {
        "visits": len(problem.visits),
        "crew_days": len(problem.crew_days),
        "seconds": round(time.perf_counter() - began, 1),
        "placed": numbers.placed,
        "unplaced": dict(Counter(each.code for each in plan.unplaced)),
        "drive_minutes": numbers.drive_minutes,
        "utilisation": numbers.utilisation,
        "best_share": numbers.best_share,
        "peak_mb": _peak_mb(),
    }


def _mended(problem: RoundsProblem, plan: RoundPlan, seconds: float) -> dict[str, object]:
    began = time.perf_counter()
    answer: Replan = replan(problem, plan, Effort(seconds=seconds))
    urgent = {visit.id for visit in problem.visits if visit.is_urgent}
    out = {each.visit for each in answer.plan.unplaced}
    return {
        "seconds": round(time.perf_counter() - began, 1),
        "stage": answer.stage,
        "untouched": answer.untouched,
        "moved": answer.moved,
        "unplaced": len(out),
        "unplaced_urgent": len(out & urgent),
        "best_share_before": plan.numbers.best_share,
        "best_share": answer.plan.numbers.best_share,
        "drive_minutes": answer.plan.numbers.drive_minutes,
        "peak_mb": _peak_mb(),
        "changes": dict(Counter(change.kind for change in answer.changes)),
    }


def _peak_mb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


PARTS: dict[str, Callable[[float | None, int], list[dict[str, object]]]] = {
    "fortnight": fortnight,
    "twelve_weeks": twelve_weeks,
    "replan": mending,
}


if __name__ == "__main__":
    main()
