"""Warmth: growing degree hours from hourly temperatures, growing degree-days from daily ones."""

from __future__ import annotations

import numpy as np

from gardens.climate.arrays import Floats

GDH_BASE_C, GDH_BEST_C, GDH_TOP_C = 4.0, 25.0, 36.0


def growing_degree_hours(hourly_c: Floats) -> Floats:
    """Growing degree hours of each hour: none to 4 °C, most (21) at 25 °C, none from 36 °C on.

    The asymmetric curve of Anderson, Richardson & Kesner (1986), Acta Horticulturae 184:71.
    """
    rise, fall = GDH_BEST_C - GDH_BASE_C, GDH_TOP_C - GDH_BEST_C
    held = np.clip(hourly_c, GDH_BASE_C, GDH_BEST_C)
    warmth: Floats = rise / 2 * (1 - np.cos(np.pi / rise * (held - GDH_BASE_C)))
    is_hot = hourly_c > GDH_BEST_C
    if is_hot.any():
        above = np.minimum(hourly_c[is_hot], GDH_TOP_C) - GDH_BEST_C
        warmth[is_hot] = rise * (1 - np.sin(np.pi / 2 / fall * above))
    return warmth


def linear_degree_hours(hourly_c: Floats, base_c: float) -> Floats:
    """Degrees above the base in each hour, never negative."""
    return np.maximum(hourly_c - base_c, 0.0)


def degree_days_average(tmin_c: Floats, tmax_c: Floats, base_c: float) -> Floats:
    """Degree-days of the daily mean: max(0, (tmin + tmax)/2 − base)."""
    return np.maximum((tmin_c + tmax_c) / 2 - base_c, 0.0)


def degree_days_modified(tmin_c: Floats, tmax_c: Floats, base_c: float, cap_c: float) -> Floats:
    """Degree-days of the mean of both temperatures held within base … cap."""
    return (np.clip(tmin_c, base_c, cap_c) + np.clip(tmax_c, base_c, cap_c)) / 2 - base_c


def degree_days_sine(tmin_c: Floats, tmax_c: Floats, base_c: float, cap_c: float | None = None) -> Floats:
    """Degree-days under a single sine curve (Baskerville & Emin 1969, Ecology 50:514).

    With ``cap_c`` the curve is cut off horizontally: warmth above the cap counts as warmth at the cap.
    """
    above = _area_above(tmin_c, tmax_c, base_c)
    return above if cap_c is None else above - _area_above(tmin_c, tmax_c, cap_c)


def degree_days_triangle(tmin_c: Floats, tmax_c: Floats, base_c: float) -> Floats:
    """Degree-days under a straight rise and fall between the two temperatures."""
    low, high = np.asarray(tmin_c, dtype=float), np.asarray(tmax_c, dtype=float)
    width = np.maximum(high - low, 1e-9)
    part = (high - base_c) ** 2 / (2 * width)
    return np.where(high <= base_c, 0.0, np.where(low >= base_c, (low + high) / 2 - base_c, part))


def degree_days_capped(mean_c: Floats, low_c: float, best_c: float, heat_c: float) -> Floats:
    """Degree-days of the daily mean that stop growing at ``best_c`` and shrink above ``heat_c``.

    The form used for vines by Molitor & Junk (2019).
    """
    rising = np.clip(mean_c, low_c, best_c) - low_c
    return np.maximum(rising - np.maximum(mean_c - heat_c, 0.0), 0.0)


def _area_above(tmin_c: Floats, tmax_c: Floats, threshold_c: float) -> Floats:
    low, high = np.asarray(tmin_c, dtype=float), np.asarray(tmax_c, dtype=float)
    mean, half = (high + low) / 2, (high - low) / 2
    angle = np.arcsin(np.clip((threshold_c - mean) / np.maximum(half, 1e-9), -1.0, 1.0))
    part = ((mean - threshold_c) * (np.pi / 2 - angle) + half * np.cos(angle)) / np.pi
    return np.where(low >= threshold_c, mean - threshold_c, np.where(high <= threshold_c, 0.0, part))
