"""Hourly temperatures from daily minimum and maximum.

After Linvill (1990), HortScience 25:14–16: a sine by day with its top two hours after noon, a logarithmic fall by
night. The hours 0 … 23 are local solar time; each value stands for one hour.
"""

from __future__ import annotations

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.daylight import half_day_hours


def hourly_temperatures(latitude_deg: float, day_of_year: Floats, tmin_c: Floats, tmax_c: Floats) -> Floats:
    """Temperatures at the solar hours 0 … 23 of each day. [°C]

    ``tmin_c`` and ``tmax_c`` hold consecutive days in their last axis; the result has one axis more, of length 24.
    The first and the last day stand in for their missing neighbours, so one day more on each side makes the edges
    exact. In polar day and night the mean of the two is taken for all hours.
    """
    half = half_day_hours(latitude_deg, np.asarray(day_of_year, dtype=float))
    rise, fall, length = 12 - half, 12 + half, 2 * half
    at_sunset = tmin_c + (tmax_c - tmin_c) * np.sin(np.pi * length / (length + 4))

    fall_before, sunset_before = _shifted(fall, 1), _shifted(at_sunset, 1)
    rise_after, tmin_after = _shifted(rise, -1), _shifted(tmin_c, -1)
    hours = np.arange(24.0)

    day_share = np.sin(np.pi * (hours - rise[:, None]) / (length[:, None] + 4))
    by_day = tmin_c[..., None] + (tmax_c - tmin_c)[..., None] * day_share
    early_share = _fallen(hours + 24 - fall_before[:, None], (24 - fall_before + rise)[:, None])
    early = sunset_before[..., None] - (sunset_before - tmin_c)[..., None] * early_share
    late_share = _fallen(hours - fall[:, None], (24 - fall + rise_after)[:, None])
    late = at_sunset[..., None] - (at_sunset - tmin_after)[..., None] * late_share

    temperatures = np.where(hours < rise[:, None], early, np.where(hours > fall[:, None], late, by_day))
    is_polar = (length <= 0) | (length >= 24)
    if is_polar.any():
        temperatures[..., is_polar, :] = ((tmin_c + tmax_c) / 2)[..., is_polar, None]
    return temperatures


def _fallen(hours_since_sunset: Floats, night_hours: Floats) -> Floats:
    """Which part of the night's fall is done, 0 at sunset and 1 at sunrise."""
    return np.log1p(np.maximum(hours_since_sunset, 0)) / np.log1p(np.maximum(night_hours, 1e-9))


def _shifted(values: Floats, by: int) -> Floats:
    """The neighbour's values, the edge day standing in for itself."""
    if by > 0:
        return np.concatenate([values[..., :1], values[..., :-1]], axis=-1)
    return np.concatenate([values[..., 1:], values[..., -1:]], axis=-1)
