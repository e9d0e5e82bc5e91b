"""State, steps and forecast of many different trees in one process: ``python -m tests.benchmarks.training [--trees N]``.

Prints one JSON line: trees, seconds of this process for each part and in all (what other processes take does not count),
the same by the clock on the wall, milliseconds for one tree, and the time of half as many trees: twice is linear.
`yardstick_us` is the time of `sum(range(1000))` in the same minute: machines and busy hours are compared by it.
"""

from __future__ import annotations

import argparse
import json
import random
import time
import timeit
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from gardens.training import Record, TreeFacts, fold, forecast, next_steps
from gardens.training.state import FORMS

SPECIES = {"fan": "peach", "vine_rod_and_spur": "grape", "vine_cane_replacement": "grape", "vine_tiers": "grape"}
STARTS = ("whip", "whip", "whip", "feathered", "ready_trained", "neglected")
STOCKS = (None, "m9", "m26", "mm106")


def a_tree(number: int, dice: random.Random) -> tuple[TreeFacts, list[Record]]:
    """One invented tree with a few years of records, no two alike."""
    form = FORMS[number % len(FORMS)]
    species = SPECIES.get(form, dice.choice(["apple_spur", "pear_european"]))
    first, gap = dice.randrange(380, 480), dice.randrange(350, 450)
    facts = TreeFacts(
        species=species,
        form=form,
        planted_on=date(dice.randrange(2014, 2026), dice.choice([1, 2, 3, 11, 12]), dice.randrange(1, 28)),
        wire_heights_mm=tuple(first + gap * wire for wire in range(dice.randrange(2, 6))),
        run_left_mm=dice.randrange(700, 2200),
        run_right_mm=dice.randrange(700, 2200),
        height_mm=dice.randrange(2200, 2600),
        start=dice.choice(STARTS),  # type: ignore[arg-type]
        tiers_at_start=dice.randrange(0, 3),
        rootstock=dice.choice(STOCKS) if species == "apple_spur" else None,
    )
    return facts, _records(facts, dice)


def _records(facts: TreeFacts, dice: random.Random) -> list[Record]:
    day, records = facts.planted_on, []
    for _ in range(dice.randrange(0, 4)):
        day += timedelta(days=365)
        records.append(Record(on=day, kind="measured", what="season_growth", limb="tier:1", value=dice.gauss(350, 90)))
        records.append(Record(on=day, kind="measured", what="leader_height", value=dice.gauss(1200, 250)))
        records.append(Record(on=day, kind="done", what="tie_in", limb="tier:1", text="jute"))
    return [replace(record, value=abs(record.value)) if record.value else record for record in records]


def timed(trees: Sequence[tuple[TreeFacts, list[Record]]], today: date) -> tuple[dict[str, float], int]:
    """Seconds of this process for each part, and how many steps came out."""
    seconds = dict.fromkeys(("fold", "steps", "forecast"), 0.0)
    steps = 0
    for facts, records in trees:
        marks = [time.process_time()]
        state = fold(facts, records, today)
        marks.append(time.process_time())
        steps += len(next_steps(state))
        marks.append(time.process_time())
        forecast(state)
        marks.append(time.process_time())
        for part, (a, b) in zip(seconds, pairwise(marks), strict=True):
            seconds[part] += b - a
    return seconds, steps


def main() -> None:
    """Time the three parts and print them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trees", type=int, default=10_000)
    count = parser.parse_args().trees
    dice, today = random.Random(7), date(2026, 12, 1)
    trees = [a_tree(number, dice) for number in range(count)]
    timed(trees[: len(FORMS)], today)
    yardstick = min(timeit.repeat("sum(range(1000))", timer=time.process_time, number=500, repeat=9)) / 500 * 1e6
    begun = time.perf_counter()
    half, _ = timed(trees[: count // 2], today)
    wall = time.perf_counter()
    seconds, steps = timed(trees, today)
    total = sum(seconds.values())
    told = {
        "trees": count,
        "steps": steps,
        "seconds": {part: round(value, 2) for part, value in seconds.items()},
        "total": round(total, 2),
        "ms_per_tree": round(total / count * 1000, 3),
        "half": round(sum(half.values()), 2),
        "wall": round(time.perf_counter() - wall, 2),
        "wall_half": round(wall - begun, 2),
        "yardstick_us": round(yardstick, 1),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main()
