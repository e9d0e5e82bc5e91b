"""Sums of the trade that plans are made with: seasons to set and fill, cover of a wall, lengths and places.

Lengths in mm, angles in degrees above the horizontal. The formulas are plain geometry and counting.
"""

from __future__ import annotations

import math


def seasons_tiers_are_set(first: int, tiers: int, *, a_season: int = 1) -> tuple[int, ...]:
    """The seasons in which tiers are set when no leader is ever short, ``a_season`` tiers each.

    Two a season is the old modified fan, where each shoot is cut to give two branches.
    """
    return tuple(first + tier // a_season for tier in range(tiers))


def season_filled(set_in: int, wanted_mm: float, first_mm: float, later_mm: float) -> int:
    """The season an arm fills its place: set in one season, ``first_mm`` long after it, ``later_mm`` more each season."""
    if wanted_mm <= first_mm:
        return set_in
    return set_in + math.ceil((wanted_mm - first_mm) / later_mm - 1e-9)


def wall_covered(tiers: int, wanted_mm: float, growth_mm: float, *, whole_seasons: bool = False) -> float:
    """The share of the wall covered in the season the top tier is set, one tier a season, arms of equal growth.

    In whole seasons the arm of tier k has grown for tiers − k + 1 of them; else growth is counted as steady, half a
    season later.
    """
    shift = 1.0 if whole_seasons else 0.5
    lengths = [min(wanted_mm, growth_mm * (tiers - tier + shift)) for tier in range(1, tiers + 1)]
    return sum(lengths) / (tiers * wanted_mm)


def stem_length(height_mm: float, angle_deg: float) -> float:
    """The length of a slanted stem that reaches a height. [mm]"""
    return height_mm / math.sin(math.radians(angle_deg))


def seasons_of_a_stem(length_mm: float, planted_mm: float, growth_mm: float) -> int:
    """How many seasons a stem needs to reach its length."""
    return max(0, math.ceil((length_mm - planted_mm) / growth_mm - 1e-9))


def wire_heights(first_mm: int, spacing_mm: int, wires: int) -> tuple[int, ...]:
    """The heights of evenly spaced wires. [mm]"""
    return tuple(first_mm + spacing_mm * wire for wire in range(wires))


def spur_levels(wall_mm: int, lowest_mm: int, spacing_mm: int) -> int:
    """How many pairs of spurs an upright vine rod carries on a wall, the lowest at a height."""
    return (wall_mm - lowest_mm) // spacing_mm + 1


def trees_that_fit(length_mm: int, spacing_mm: int) -> int:
    """How many trees fit along a support with half a spacing free at each end; at least one."""
    return max(1, length_mm // spacing_mm)
