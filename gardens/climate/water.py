"""How much water a trained tree wants: reference evapotranspiration, the soil's store, and when to give how much.

The least known part is the tree's own share; the factors are program defaults and every answer carries its source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.readings import Reading
from gardens.climate.values import DailyWeather

Soil = Literal["sand", "loam", "clay"]

SOLAR_CONSTANT = 0.0820
"""MJ m⁻² min⁻¹ (FAO-56)."""
MM_PER_MJ = 0.408
AVAILABLE_WATER_MM_PER_M = {"sand": 80.0, "loam": 150.0, "clay": 180.0}
"""Water a soil gives up between full and wilting: handbook values, from memory."""
TREE_SHARE_YOUNG, TREE_SHARE_OLD = 0.8, 0.5
"""Part of the reference evapotranspiration a tree uses: 0.5 keeps landscape trees (ANSI/ASABE S623); young ones more."""
DEPLETION_BEFORE_STRESS = 0.5
"""FAO-56 table 22, fruit trees."""
WASTE_FACTOR = 0.9
LEAST_RAIN_THAT_COUNTS_MM, RAIN_SHARE, WALL_RAIN_SHARE = 3.0, 0.8, 0.5
RAIN_SHADOW_MM = 500
LEAST_CANOPY_M2, FLAT_CANOPY_SHARE = 0.5, 0.5
SUMMERS_YOUNG = 2
LONGEST_UNKNOWN_DAYS = 5
SOURCE = (
    "FAO Irrigation and Drainage Paper 56, Hargreaves equation; share of the tree after ANSI/ASABE S623 (0.5), "
    "more for young trees, soil and root depth: program defaults"
)


def extraterrestrial_radiation(latitude_deg: float, day_of_year: Floats) -> Floats:
    """Sunshine above the air on a flat square metre. [MJ m⁻² day⁻¹] FAO-56 equation 21; 0 in polar night."""
    latitude = math.radians(latitude_deg)
    angle = 2 * np.pi * np.asarray(day_of_year, dtype=float) / 365
    distance = 1 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    high = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    radiation: Floats = 24 * 60 / np.pi * SOLAR_CONSTANT * distance * high
    return radiation


def reference_evapotranspiration(latitude_deg: float, day_of_year: Floats, tmin_c: Floats, tmax_c: Floats) -> Floats:
    """Water a short lawn would use, after Hargreaves. [mm day⁻¹] FAO-56 equation 52; never below 0."""
    mean, width = (tmin_c + tmax_c) / 2, np.maximum(tmax_c - tmin_c, 0.0)
    radiation = extraterrestrial_radiation(latitude_deg, day_of_year)
    return np.maximum(0.0023 * (mean + 17.8) * np.sqrt(width) * MM_PER_MJ * radiation, 0.0)


@dataclass(frozen=True, kw_only=True)
class ThirstyTree:
    """What decides a tree's thirst. Lengths in mm; ``planted_on`` sets root depth and share."""

    planted_on: date
    height_mm: int
    width_mm: int
    soil: Soil = "loam"
    gap_to_wall_mm: int | None = None
    """Distance to a wall that keeps the rain off, None in the open."""

    @property
    def canopy_m2(self) -> float:
        """Leaf-bearing face that counts: half of height × width, as one side faces the wall; at least half a metre²."""
        return max(LEAST_CANOPY_M2, self.height_mm / 1000 * self.width_mm / 1000 * FLAT_CANOPY_SHARE)

    def summers(self, on: date, *, is_southern: bool = False) -> int:
        """Which summer the tree lives through, 1 for the first after planting."""

        def summer(day: date) -> int:
            """A number that grows by one each year; what is planted in autumn belongs to the summer that follows."""
            return day.year - (day.month < 3) if is_southern else day.year + (day.month >= 9)

        return max(1, summer(on) - summer(self.planted_on) + 1)

    def is_young(self, on: date, *, is_southern: bool = False) -> bool:
        """Whether it is in its first two summers."""
        return self.summers(on, is_southern=is_southern) <= SUMMERS_YOUNG

    def root_depth_m(self, on: date, *, is_southern: bool = False) -> float:
        """0.4 m in the first summer, 0.6 m in the second, 1 m later: program default."""
        return {1: 0.4, 2: 0.6}.get(self.summers(on, is_southern=is_southern), 1.0)


@dataclass(frozen=True, kw_only=True)
class WaterNeed:
    """The store in the soil on the last day, and what to give.

    ``depletion_mm`` is what is gone, ``bearable_mm`` what may be gone before the tree suffers. ``litres`` refills the
    store (0 while it is not due); ``due_on`` is the first day on which the bearable was reached and not rained away.
    ``missing`` days had no weather; beyond five the figures are ``is_uncertain``.
    """

    on: date
    depletion_mm: float
    bearable_mm: float
    litres_per_day: float
    litres: float
    due_on: date | None
    missing: int
    source: str = SOURCE

    @property
    def is_due(self) -> bool:
        """Whether water should be given now."""
        return self.due_on is not None

    @property
    def is_uncertain(self) -> bool:
        """Whether too many days are missing to trust the figures."""
        return self.missing > LONGEST_UNKNOWN_DAYS


def water_need(
    tree: ThirstyTree, latitude_deg: float, days: Sequence[DailyWeather | Reading], first: date, last: date
) -> WaterNeed:
    """The tree's water from ``first`` (soil full) to ``last``.

    Each day takes share × reference evapotranspiration and gives back 0.8 of a rain of 3 mm or more; beside a wall only
    half the rain counts. A missing day takes what the last known day took and gives nothing.

    Raises:
        ValueError: when ``last`` lies before ``first``.
    """
    if last < first:
        raise ValueError(f"{last} lies before {first}")
    is_southern = latitude_deg < 0
    by_day = {day.on: day for day in days}
    rain_share = RAIN_SHARE
    if tree.gap_to_wall_mm is not None and tree.gap_to_wall_mm <= RAIN_SHADOW_MM:
        rain_share *= WALL_RAIN_SHARE
    depletion, used, missing = 0.0, 0.0, 0
    due_on: date | None = None
    bearable = 0.0
    for ordinal in range(first.toordinal(), last.toordinal() + 1):
        on = date.fromordinal(ordinal)
        share = TREE_SHARE_YOUNG if tree.is_young(on, is_southern=is_southern) else TREE_SHARE_OLD
        rain = 0.0
        day = by_day.get(on)
        if day is None or day.tmin_c is None or day.tmax_c is None:
            missing += 1
        else:
            number = np.array([float(on.timetuple().tm_yday)])
            low, high = np.array([day.tmin_c]), np.array([max(day.tmin_c, day.tmax_c)])
            used = share * float(reference_evapotranspiration(latitude_deg, number, low, high)[0])
            rain = day.rain_mm or 0.0
        gained = rain_share * rain if rain >= LEAST_RAIN_THAT_COUNTS_MM else 0.0
        depletion = max(0.0, depletion + used - gained)
        depth = tree.root_depth_m(on, is_southern=is_southern)
        bearable = DEPLETION_BEFORE_STRESS * AVAILABLE_WATER_MM_PER_M[tree.soil] * depth
        if depletion < bearable:
            due_on = None
        elif due_on is None:
            due_on = on
    litres = depletion * tree.canopy_m2 / WASTE_FACTOR if due_on is not None else 0.0
    return WaterNeed(
        on=last,
        depletion_mm=round(depletion, 1),
        bearable_mm=round(bearable, 1),
        litres_per_day=round(used * tree.canopy_m2, 1),
        litres=round(litres),
        due_on=due_on,
        missing=missing,
    )
