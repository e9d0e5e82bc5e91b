"""Winter chill from hourly temperatures: chilling hours, Utah units, chill portions.

Decide by chill portions (dynamic model); show chilling hours too, because people know them.
"""

from __future__ import annotations

import math

import numpy as np

from gardens.climate.arrays import Floats

UTAH_EDGES_C = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

# Dynamic model: activation energies and rates of the two steps, slope and temperature of the fixing step.
E0, E1 = 4153.5, 12888.8
A0, A1 = 139500.0, 2.567e18
SLOPE, FIXING_K = 1.6, 277.0
ZERO_CELSIUS_K = 273.0
"""The published parameters were fitted with 273, not 273.15."""


def chilling_hours(hourly_c: Floats) -> Floats:
    """One for each hour of 0 … 7.2 °C (Weinberger 1950; Bennett 1949)."""
    return ((hourly_c >= 0) & (hourly_c <= 7.2)).astype(float)


def utah_units(hourly_c: Floats) -> Floats:
    """Utah chill units of each hour, from 1 down to −1 when warm (Richardson et al. 1974, HortScience 9:331)."""
    return UTAH_UNITS[np.searchsorted(UTAH_EDGES_C, hourly_c, side="left")]


def positive_utah_units(hourly_c: Floats) -> Floats:
    """Utah units with the warm hours counted as zero (after Linsley-Noakes et al. 1995)."""
    return np.maximum(utah_units(hourly_c), 0)


def chill_portions(hourly_c: Floats, *, alike_hours: int = 0) -> Floats:
    """Portions of the dynamic model fixed in each hour, the store of the intermediate empty at the first.

    Fishman et al. (1987), Erez et al. (1990), with the usual parameters. ``hourly_c`` holds consecutive hours in its
    last axis; cumulative sums of the result are the chill portions at each hour. Start anew every season. Of several
    rows the first ``alike_hours`` hours may be declared the same in all, which saves their work.
    """
    rows = np.atleast_2d(hourly_c)
    portions = np.zeros_like(rows, dtype=float)
    if rows.shape[1] > 1:
        hours = rows[:, :-1]
        gain, stays = store_rates(hours)
        shared = max(0, min(alike_hours, rows.shape[1]) - 1)
        full, fixed, store = fixed_portions(hours[0, :shared], gain[0, :shared], stays[0, :shared], 0.0)
        for row in range(rows.shape[0]):
            later, more, _ = fixed_portions(hours[row, shared:], gain[row, shared:], stays[row, shared:], store)
            portions[row, [hour + 1 for hour in full]] = fixed
            portions[row, [hour + 1 + shared for hour in later]] = more
    return portions.reshape(hourly_c.shape)


def store_rates(hourly_c: Floats) -> tuple[Floats, Floats]:
    """What an hour adds to the store of the intermediate, and which part of what was there it leaves."""
    inverse = 1 / (hourly_c + ZERO_CELSIUS_K)
    balance = (A0 / A1) * np.exp((E1 - E0) * inverse)
    stays = np.exp(-A1 * np.exp(-E1 * inverse))
    return balance * (1 - stays), stays


def fixed_share(hourly_c: Floats) -> Floats:
    """Which part of a full store an hour fixes as a chill portion."""
    share: Floats = 1 / (1 + np.exp(-SLOPE * FIXING_K * (1 - FIXING_K / (hourly_c + ZERO_CELSIUS_K))))
    return share


def fixed_portions(hourly_c: Floats, gain: Floats, stays: Floats, store: float) -> tuple[list[int], list[float], float]:
    """Hours at which the store was full, the portions fixed then, and what is left. A plain loop is the quickest."""
    hours, portions = [], []
    for hour, (grown, kept) in enumerate(zip(gain.tolist(), stays.tolist(), strict=True)):
        store = grown + store * kept
        if store >= 1.0:
            portion = store * _fixed_share_of(float(hourly_c[hour]))
            hours.append(hour)
            portions.append(portion)
            store -= portion
    return hours, portions, store


def _fixed_share_of(temperature_c: float) -> float:
    """`fixed_share` of one hour."""
    return 1 / (1 + math.exp(-SLOPE * FIXING_K * (1 - FIXING_K / (temperature_c + ZERO_CELSIUS_K))))
