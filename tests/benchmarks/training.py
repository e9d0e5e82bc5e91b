"""State, steps and forecast of many different trees in one process: ``python -m tests.benchmarks.training [--trees N]``.

Prints one JSON line: trees, seconds for each part and in all, and milliseconds for one tree.
"""

from __future__ import annotations

import argparse
import json
import random
import time
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


def main() -> None:
    """Time the three parts and print them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trees", type=int, default=10_000)
    count = parser.parse_args().trees
    dice, today = random.Random(7), date(2026, 12, 1)
    trees = [a_tree(number, dice) for number in range(count)]
    warm = fold(*trees[0], today)
    next_steps(warm), forecast(warm)
    seconds = {"fold": 0.0, "steps": 0.0, "forecast": 0.0}
    steps = 0
    for facts, records in trees:
        marks = [time.perf_counter()]
        state = fold(facts, records, today)
        marks.append(time.perf_counter())
        steps += len(next_steps(state))
        marks.append(time.perf_counter())
        forecast(state)
        marks.append(time.perf_counter())
        for part, (a, b) in zip(seconds, pairwise(marks), strict=True):
            seconds[part] += b - a
    total = sum(seconds.values())
    parts = {part: round(value, 2) for part, value in seconds.items()}
    per_tree = round(total / count * 1000, 3)
    print(
        json.dumps(
            {"trees": count, "steps": steps, "seconds": parts, "total": round(total, 2), "ms_per_tree": per_tree}
        )
    )


if __name__ == "__main__":
    main()
