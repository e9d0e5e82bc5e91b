"""How long one drawing takes: `python -m tests.benchmarks.drawing [--rounds N]` prints one JSON line.

The bound is 20 ms for one drawing of a tree; measured on full trees with marks and fruit, dormant and in leaf.
`yardstick_us` is the time of `sum(range(1000))` in the same minute: machines and busy hours are compared by it.
"""

from __future__ import annotations

import argparse
import json
import timeit
from collections.abc import Callable
from functools import partial
from time import perf_counter, process_time

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


def timed(action: Callable[[], str], rounds: int) -> dict[str, float]:
    """Milliseconds of this process and by the clock on the wall, each of the least disturbed run, and the size."""
    own, wall, size = [], [], 0
    for _ in range(rounds):
        start, begun = process_time(), perf_counter()
        size = len(action())
        own.append((process_time() - start) * 1000)
        wall.append((perf_counter() - begun) * 1000)
    return {"ms": round(min(own), 2), "wall_ms": round(min(wall), 2), "kb": round(size / 1024, 1)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    result: dict[str, dict[str, float]] = {}
    for form in TREES:
        for season in ("dormant", "in_leaf"):
            state, options = tree(form, "full"), Options(season=season, with_fruit=True)
            result[f"{form} {season}"] = timed(partial(draw_tree, state, MARKS, None, options), rounds)
    wall = SupportPicture(kind="wall", run_mm=13500, height_mm=2300, wire_heights_mm=(450, 850, 1250, 1650))
    row = [TreeInRow(state=tree("horizontal_tiers", "full"), x_mm=2200 + 4400 * i, label=f"{i}") for i in range(3)]
    result["support of three"] = timed(partial(draw_support, wall, row), rounds)
    result["strip of three"] = timed(lambda: draw_strip([tree("fan", age) for age in AGES]), rounds)
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
