"""How much fruit a tree carries well: by the section of its trunk, by the length of its arms, after frost."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gardens.knowledge.schema import Species


def trunk_section_cm2(girth_mm: float) -> float:
    """Cross-section of the trunk from its girth. [cm²]

    Args:
        girth_mm: measured 20 to 30 cm above the graft, above 0. [mm]

    Source: circle, girth² / 4π.
    """
    if not girth_mm > 0:
        raise ValueError(f"a girth is above 0, not {girth_mm} mm")
    return (girth_mm / 10) ** 2 / (4 * math.pi)


@dataclass(frozen=True, kw_only=True)
class CropLimit:
    """Fruits a tree carries well, and the most it should carry."""

    low: int
    high: int
    most: int
    source: str


def crop_limit(species: Species, girth_mm: float) -> CropLimit | None:
    """Fruits by trunk section; None where no figure was published for the species (use the spacing then)."""
    if not species.facts.crop_load:
        return None
    load = species.facts.crop_load[0]
    section = trunk_section_cm2(girth_mm)
    return CropLimit(
        low=round(load.per_cm2[0] * section),
        high=round(load.per_cm2[1] * section),
        most=round(load.most * section),
        source="; ".join(load.source),
    )


def girth_mm_for(fruits: int, per_cm2: float) -> float:
    """The girth that carries so many fruits at so many per cm² of section. [mm]"""
    return 10 * math.sqrt(4 * math.pi * fruits / per_cm2)


def fruits_along(arm_cm: float, spacing_cm: float) -> int:
    """Fruits on an arm when they are left so far apart. Arithmetic: length / spacing, rounded down."""
    if spacing_cm <= 0 or arm_cm < 0:
        raise ValueError(f"arm and spacing must be positive, not {arm_cm} and {spacing_cm} cm")
    return math.floor(arm_cm / spacing_cm)


def chosen_spacing_cm(species: Species) -> tuple[float, float] | None:
    """Least and largest distance between fruits of the thinning rule the program follows; None where none is needed."""
    return next((row.spacing_cm for row in species.facts.thinning if row.is_chosen), None)


def crop_outlook(species: Species, buds_alive: float) -> str:
    """ "full" or "short", by the share of flower buds alive after a frost (0 … 1); "unknown" without a figure.

    Source: Utah State University, IPM-012-11 (cherry needs more than half its buds, apple, pear and peach 10 to 15 %).
    """
    if not 0 <= buds_alive <= 1:
        raise ValueError(f"a share of buds lies in 0 … 1, not {buds_alive}")
    bearing = species.facts.bearing
    if bearing is None or bearing.buds_alive_for_full_crop is None:
        return "unknown"
    return "full" if buds_alive >= bearing.buds_alive_for_full_crop else "short"


def chill_need(species: Species, cultivar: str = "") -> float | None:
    """Chill portions the cultivar wants, else the least of the species; None where not known."""
    name = cultivar.casefold()
    for row in species.facts.cultivar:
        if row.portions is not None and name and row.name.casefold() == name:
            return row.portions
    spans = [row.portions for row in species.facts.chill if row.portions is not None]
    return min((span[0] for span in spans), default=None)
