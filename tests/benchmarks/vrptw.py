"""Solve published routing instances through our own rounds.

python -m tests.benchmarks.vrptw FILE… --seconds N [--bare]
→ one JSON line per file: {"instance", "seconds", "cpu_seconds", "distance", "vehicles", "feasible"}, and the gap in per
cent to the best known distance where a .sol file lies beside the instance. Distance by the convention in
`published_routes`. ``--bare`` solves each with the bare library on one thread as well, for the same seconds, right after.
The last line is the mean gap by size. The whole set of a folder: ``FOLDER/*.vrp``.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pyvrp
from pyvrp.stop import MaxRuntime

from scheduling.rounds import Effort, plan_rounds
from tests.benchmarks.published_routes import as_rounds, check, read_instance, read_solution, routes_of


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1, help="the second thread takes the next one")
    parser.add_argument("--bare", action="store_true", help="the bare library on one thread too")
    given = parser.parse_args()
    lines = []
    for path in given.files:
        line = solve_file(path, given.seconds, given.seed)
        if given.bare:
            line |= solve_bare(path, given.seconds, given.seed)
        lines.append(line)
        print(json.dumps(line), flush=True)
    print(json.dumps(means(lines)))


def means(lines: Sequence[Mapping[str, Any]]) -> dict[str, object]:
    """Mean gaps of instances of up to 100 customers, and of larger ones."""
    found: dict[str, object] = {}
    for words, is_in in (("100 customers", lambda size: size <= 100), ("more", lambda size: size > 100)):
        chosen = [line for line in lines if is_in(line["customers"]) and "gap_percent" in line]
        for key in ("gap_percent", "bare_gap_percent"):
            if gaps := [line[key] for line in chosen if key in line]:
                found[f"mean_{key}, {words}"] = round(sum(gaps) / len(gaps), 3)
    return found


def solve_bare(path: Path, seconds: float, seed: int) -> dict[str, object]:
    """The same file by the bare library on one thread, as its manual shows."""
    data = pyvrp.read(str(path), round_func="dimacs")
    began = time.process_time()
    found = pyvrp.solve(data, MaxRuntime(seconds), seed=seed, collect_stats=False, display=False)
    line: dict[str, object] = {"bare_cpu_seconds": round(time.process_time() - began, 1)}
    solution = path.with_suffix(".sol")
    if solution.exists() and found.is_feasible():
        best = read_solution(solution)[1]
        line["bare_gap_percent"] = round(100 * (found.best.distance() / 10 / best - 1), 3)
    return line


def solve_file(path: Path, seconds: float, seed: int) -> dict[str, object]:
    """One line of the outcome."""
    instance = read_instance(path)
    began, cpu = time.perf_counter(), time.process_time()
    plan = plan_rounds(as_rounds(instance), Effort(seconds=seconds, seeds=(seed, seed + 1)))
    taken = time.perf_counter() - began
    routes = routes_of(plan)
    distance, wrong = check(instance, routes)
    line: dict[str, object] = {
        "instance": instance.name,
        "customers": len(instance.demand) - 1,
        "seconds": round(taken, 2),
        "cpu_seconds": round(time.process_time() - cpu, 1),
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
