"""How long one drawing takes: `python -m tests.benchmarks.drawing [--rounds N]` prints one JSON line.

The bound is 20 ms for one drawing of a tree; measured on full trees with marks and fruit, dormant and in leaf.
`yardstick_us` is the time of `sum(range(1000))` in the same minute: machines and busy hours are compared by it.
"""

from __future__ import annotations

import argparse
import json
import timeit
from time import process_time

from gardens.drawing import Mark, Options, TreeInRow, draw_strip, draw_support, draw_tree
from gardens.drawing.support import SupportPicture
from tests.gardens.drawing.trees import AGES, TREES, tree

BOUND_MS = 20.0
MARKS = (
    Mark(number=1, kind="head_back", limb="leader", at_mm=1300, label="130 cm"),
    Mark(number=2, kind="renew_ties"),
    Mark(number=3, kind="thin_spurs", label="5→2"),
    Mark(number=4, kind="summer_prune"),
    Mark(number=5, kind="inspect"),
    Mark(number=6, kind="feed_mulch"),
)


def timed(action, rounds: int) -> tuple[float, int]:
    """Milliseconds of this process for the least disturbed of several runs, and the length of the answer."""
    times, size = [], 0
    for _ in range(rounds):
        start = process_time()
        size = len(action())
        times.append((process_time() - start) * 1000)
    return min(times), size


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    result: dict[str, dict[str, float]] = {}
    for form in TREES:
        for season in ("dormant", "in_leaf"):
            state, options = tree(form, "full"), Options(season=season, with_fruit=True)
            ms, size = timed(lambda s=state, o=options: draw_tree(s, MARKS, None, o), rounds)
            result[f"{form} {season}"] = {"ms": round(ms, 2), "kb": round(size / 1024, 1)}
    wall = SupportPicture(kind="wall", run_mm=13500, height_mm=2300, wire_heights_mm=(450, 850, 1250, 1650))
    row = [TreeInRow(state=tree("horizontal_tiers", "full"), x_mm=2200 + 4400 * i, label=f"{i}") for i in range(3)]
    ms, size = timed(lambda: draw_support(wall, row), rounds)
    result["support of three"] = {"ms": round(ms, 2), "kb": round(size / 1024, 1)}
    ms, size = timed(lambda: draw_strip([tree("fan", age) for age in AGES]), rounds)
    result["strip of three"] = {"ms": round(ms, 2), "kb": round(size / 1024, 1)}
    worst = max(value["ms"] for name, value in result.items() if name.split()[0] in TREES)
    yardstick = min(timeit.repeat("sum(range(1000))", timer=process_time, number=500, repeat=9)) / 500 * 1e6
    print(
        json.dumps(
            {
                "bound_ms": BOUND_MS,
                "yardstick_us": round(yardstick, 1),
                "worst_tree_ms": worst,
                "within": worst < BOUND_MS,
                "drawings": result,
            }
        )
    )


if __name__ == "__main__":
    main()
