"""Solve published routing instances through our own rounds.

python -m tests.benchmarks.vrptw FILE… --seconds N
→ one JSON line per file: {"instance", "seconds", "distance", "vehicles", "feasible"}, and the gap in per cent to the best
known distance where a .sol file lies beside the instance. Distance by the convention in `published_routes`.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from scheduling.rounds import Effort, plan_rounds
from tests.benchmarks.published_routes import as_rounds, check, read_instance, read_solution, routes_of


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1, help="the second thread takes the next one")
    given = parser.parse_args()
    for path in given.files:
        print(json.dumps(solve_file(path, given.seconds, given.seed)), flush=True)


def solve_file(path: Path, seconds: float, seed: int) -> dict[str, object]:
    """One line of the outcome."""
    instance = read_instance(path)
    began = time.perf_counter()
    plan = plan_rounds(as_rounds(instance), Effort(seconds=seconds, seeds=(seed, seed + 1)))
    taken = time.perf_counter() - began
    routes = routes_of(plan)
    distance, wrong = check(instance, routes)
    line: dict[str, object] = {
        "instance": instance.name,
        "seconds": round(taken, 2),
        "distance": distance,
        "vehicles": len(routes),
        "feasible": not wrong,
    }
    if wrong:
        line["wrong"] = wrong[:5]
    solution = path.with_suffix(".sol")
    if solution.exists():
        best = read_solution(solution)[1]
        line["gap_percent"] = round(100 * (distance / best - 1), 3)
    return line


if __name__ == "__main__":
    main()
