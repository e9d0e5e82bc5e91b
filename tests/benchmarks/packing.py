"""Pack a made-up book of sites and say how long it took.

python -m tests.benchmarks.packing --sites N [--visit-minutes M] [--gap D]
→ one JSON line {"sites", "needs", "visits", "unserved", "proved", "seconds", "slowest_site_seconds"}.
Needs per site: 1 + a negative binomial number of trees of mean 7.3, each with the year of one of three kinds of tree.
"""

from __future__ import annotations

import argparse
import json
import time
from datetime import date, timedelta

import numpy as np

from scheduling.packing import PackNeed, PackRules, pack_site

JANUARY = date(2025, 1, 1)
YEARS = {
    "tiers": [
        ("winter prune", 5, 20, 55, 75, 35),
        ("clear wall side", 5, 20, 60, 80, 10),
        ("select shoots", 110, 122, 135, 150, 12),
        ("tie in", 135, 150, 170, 190, 15),
        ("thin fruit", 150, 158, 168, 180, 15),
        ("summer prune", 205, 215, 235, 255, 30),
        ("lower arms", 315, 322, 345, 360, 12),
    ],
    "fan": [
        ("spring prune", 95, 105, 125, 140, 35),
        ("pinch", 150, 160, 180, 200, 15),
        ("renew wood", 200, 210, 235, 250, 30),
        ("ties off", 320, 325, 350, 362, 10),
    ],
    "vine": [
        ("winter cut", 5, 10, 35, 45, 15),
        ("rub out", 115, 122, 135, 145, 8),
        ("tie in", 140, 150, 165, 175, 12),
        ("pinch", 170, 180, 200, 215, 10),
        ("clear fruit", 215, 222, 240, 255, 10),
    ],
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sites", type=int, default=300)
    parser.add_argument("--visit-minutes", type=int, default=390)
    parser.add_argument("--gap", type=int, default=14)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    rules = PackRules(
        visit_minutes=given.visit_minutes,
        setup_minutes=30,
        min_gap_days=given.gap,
        may_run_on=True,
        weekdays=frozenset(range(5)),
    )
    sites = [made_up_needs(random) for _ in range(given.sites)]
    began = time.perf_counter()
    packings, slowest = [], 0.0
    for needs in sites:
        start = time.perf_counter()
        packings.append(pack_site(needs, rules))
        slowest = max(slowest, time.perf_counter() - start)
    line = {
        "sites": len(sites),
        "needs": sum(len(needs) for needs in sites),
        "visits": sum(len(packing.visits) for packing in packings),
        "unserved": sum(len(packing.unserved) for packing in packings),
        "proved": sum(packing.is_proved for packing in packings),
        "seconds": round(time.perf_counter() - began, 2),
        "slowest_site_seconds": round(slowest, 2),
    }
    print(json.dumps(line))


def made_up_needs(random: np.random.Generator) -> list[PackNeed]:
    """The needs of one made-up site."""
    trees = min(60, 1 + int(random.negative_binomial(1, 1 / 8.3)))
    shift = int(random.integers(-8, 9))
    needs = []
    for tree in range(trees):
        kind = str(random.choice(list(YEARS), p=[0.6, 0.25, 0.15]))
        size = float(random.lognormal(0, 0.34))
        for work, *window, minutes in YEARS[kind]:
            days = [JANUARY + timedelta(days=number + shift) for number in window]
            needs.append(
                PackNeed(
                    id=f"{tree} {work}",
                    opens=days[0],
                    best_from=days[1],
                    best_until=days[2],
                    closes=days[3],
                    minutes=max(5, round(minutes * size)),
                )
            )
    return needs


if __name__ == "__main__":
    main()
