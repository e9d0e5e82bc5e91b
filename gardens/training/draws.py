"""The chances a forecast reckons with: one fixed, stratified set of normal draws.

Every row holds the same stratified values in its own order (a Latin hypercube), so that means and quantiles come out
well with few draws, and a forecast never changes by itself.
"""

from __future__ import annotations

from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
DRAWS = 128
HORIZON = 40
MOST_LIMBS = 64
OF_THE_TREE = 3
SEED = 20_260_101


@cache
def _table() -> Floats:
    strata = np.array([NormalDist().inv_cdf((index + 0.5) / DRAWS) for index in range(DRAWS)])
    random = np.random.default_rng(SEED)
    rows = OF_THE_TREE + MOST_LIMBS + HORIZON * (MOST_LIMBS + 1)
    return np.stack([random.permutation(strata) for _ in range(rows)])


def tree_draws() -> tuple[Floats, Floats, Floats]:
    """What a tree is: one row for its leaders, one for the leader it has, one for its arms."""
    table = _table()
    return table[0], table[1], table[2]


def limb_draws(count: int) -> Floats:
    """What each limb is: (limb, draw)."""
    return _table()[OF_THE_TREE : OF_THE_TREE + count]


def season_draws(step: int, count: int) -> tuple[Floats, Floats]:
    """What a season brings: one row for the leader, then (limb, draw)."""
    start = OF_THE_TREE + MOST_LIMBS + step * (MOST_LIMBS + 1)
    rows = _table()[start : start + 1 + count]
    return rows[0], rows[1:]
