"""Winter chill from hourly temperatures: chilling hours, Utah units, chill portions.

Decide by chill portions (dynamic model); show chilling hours too, because people know them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

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


def chill_portions(hourly_c: Floats) -> Floats:
    """Portions of the dynamic model fixed in each hour, the store of the intermediate empty at the first.

    Fishman et al. (1987), Erez et al. (1990), with the usual parameters. ``hourly_c`` holds consecutive hours in its
    last axis; cumulative sums of the result are the chill portions at each hour. Start anew every season.
    """
    if hourly_c.size == 0:
        return np.zeros_like(hourly_c, dtype=float)
    kelvin = hourly_c[..., :-1] + ZERO_CELSIUS_K
    balance = (A0 / A1) * np.exp((E1 - E0) / kelvin)
    stays = np.exp(-A1 * np.exp(-E1 / kelvin))
    power = SLOPE * FIXING_K * (kelvin - FIXING_K) / kelvin
    fixes = 1 / (1 + np.exp(-power))
    gain = balance * (1 - stays)
    portions = np.zeros_like(hourly_c, dtype=float)
    if hourly_c.ndim == 1:
        portions[1:] = _portions_of_one(gain.tolist(), stays.tolist(), fixes.tolist())
    else:
        lanes = (array.reshape(-1, array.shape[-1]).T for array in (gain, stays, fixes))
        portions[..., 1:] = _portions_of_many(*lanes).T.reshape(gain.shape)
    return portions


def _portions_of_one(gain: list[float], stays: list[float], fixes: list[float]) -> list[float]:
    """The plain loop: for one series it is quicker than any array work."""
    store, portions = 0.0, [0.0] * len(gain)
    for hour, (grown, kept, fixed) in enumerate(zip(gain, stays, fixes, strict=True)):
        store = grown + store * kept
        if store >= 1:
            portions[hour] = store * fixed
            store -= portions[hour]
    return portions


def _portions_of_many(gain: Floats, stays: Floats, fixes: Floats) -> Floats:
    """The same for many series side by side, one row per hour."""
    portions = np.zeros_like(gain)
    store = np.zeros(gain.shape[1])
    for hour in range(gain.shape[0]):
        store = gain[hour] + store * stays[hour]
        if store.max() >= 1:
            portions[hour] = np.where(store >= 1, store * fixes[hour], 0.0)
            store = store - portions[hour]
    return portions
