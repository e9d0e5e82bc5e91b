"""What hangs on the wires and what blows against them.

Trees largely carry themselves: once their arms are woody the wires only guide them. Vines and canes never do; their
whole crop hangs on the wire that bears them, year after year. The two are reckoned differently here, and said so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from gardens.knowledge.material_book import Materials, materials
from gardens.knowledge.material_schema import Crop
from gardens.supports.values import Plant, Support
from gardens.supports.wires import STANDARD_GRAVITY

ICE_KG_M3 = 900
"""Density of glaze ice. [kg/m³], ISO 12494"""

AIR_FACTOR = 0.613
"""Half the density of air at 15 °C. [kg/m³]: q = 0.613·V²"""


@dataclass(frozen=True, kw_only=True)
class PlantLoad:
    """What one entry of plants brings: crop and wet green [kg], the part the wires carry, and why.

    ``source`` is that of the share, ``crop_source`` that of the crop; ``is_assumed``: the crop is a handbook figure.
    """

    plant: Plant
    crop_kg: float
    green_kg: float
    share: float
    why: str
    source: str
    crop_source: str
    is_assumed: bool


@dataclass(frozen=True, kw_only=True)
class WireLoad:
    """What one wire carries. All in N per metre of wire; ``wind_n_m`` is horizontal, the rest hangs."""

    number: int
    height_mm: int
    own_n_m: float
    crop_n_m: float
    green_n_m: float
    wind_n_m: float
    ice_n_m: float


def wind_pressure_pa(gust_m_s: float) -> float:
    """q = 0.613·V². [Pa] A gust of 25 m/s gives 383 Pa.

    Raises:
        ValueError: for a gust below zero.
    """
    if gust_m_s < 0:
        raise ValueError(f"a gust cannot be {gust_m_s} m/s")
    return AIR_FACTOR * gust_m_s**2


def ice_kg_m(*, thickness_mm: float, diameter_mm: float) -> float:
    """Mass of a coat of ice on a wire: ρ·π·t·(d + t). [kg/m]"""
    if thickness_mm < 0 or diameter_mm <= 0:
        raise ValueError("ice must not be negative and the wire must have a diameter")
    thick, wide = thickness_mm / 1000, diameter_mm / 1000
    return ICE_KG_M3 * pi * thick * (wide + thick)


def plant_load(plant: Plant, *, book: Materials | None = None) -> PlantLoad:
    """Crop and green of a plant (or several alike), and the part of it that the wires carry.

    The crop is the plant's own figure, else the high end of the handbook range for its species and form.
    """
    book = book or materials()
    row = book.crop(plant.species, plant.form)
    each = (
        plant.crop_kg if plant.crop_kg is not None else row.kg[1] + row.kg_per_tier_over_two * max(plant.tiers - 2, 0)
    )
    share, why, source = _share(plant, row, book)
    return PlantLoad(
        plant=plant,
        crop_kg=each * plant.count,
        green_kg=book.limit("green_kg_m2") * plant.face_m2,
        share=share,
        why=why,
        source=source,
        crop_source=row.source if plant.crop_kg is None else "given",
        is_assumed=plant.crop_kg is None,
    )


def wire_loads(support: Support, *, book: Materials | None = None) -> tuple[WireLoad, ...]:
    """The load on each wire of a support, lowest first.

    Trees spread over all wires alike. A vine's crop hangs on the wires that carry its rod or cane, its green on all.
    Wind pushes on the outline of the plants; every wire takes an equal part of it.
    """
    book = book or materials()
    count, run_m = len(support.wire_heights_mm), support.run_mm / 1000
    crop = [0.0] * count
    green = 0.0
    for load in (plant_load(plant, book=book) for plant in support.plants):
        carriers = _carriers(load.plant, support, book)
        for number in carriers:
            crop[number] += load.crop_kg * load.share / len(carriers)
        green += load.green_kg * load.share
    face_m2 = sum(plant.face_m2 for plant in support.plants)
    drag = book.covers[support.surroundings.cover].drag
    wind = wind_pressure_pa(support.surroundings.gust_m_s) * drag * face_m2 / (count * run_m)
    ice = ice_kg_m(thickness_mm=support.surroundings.ice_mm, diameter_mm=support.wire.diameter_mm)
    return tuple(
        WireLoad(
            number=number,
            height_mm=height,
            own_n_m=support.wire.weight_n_m,
            crop_n_m=STANDARD_GRAVITY * crop[number - 1] / run_m,
            green_n_m=STANDARD_GRAVITY * green / (count * run_m),
            wind_n_m=wind,
            ice_n_m=STANDARD_GRAVITY * ice,
        )
        for number, height in enumerate(support.wire_heights_mm, start=1)
    )


def wind_on_post_n(support: Support, *, book: Materials | None = None) -> tuple[float, float]:
    """Wind that one line post takes from the plants: q·Cd·area per metre·post distance, and its height. [N, m]"""
    book = book or materials()
    face_m2 = sum(plant.face_m2 for plant in support.plants)
    if not face_m2:
        return 0.0, 0.0
    drag = book.covers[support.surroundings.cover].drag
    pressure = wind_pressure_pa(support.surroundings.gust_m_s) * drag
    middle_mm = sum(plant.face_m2 * (plant.bottom_mm + plant.top_mm) / 2 for plant in support.plants) / face_m2
    return pressure * face_m2 / support.run_mm * support.span_mm, middle_mm / 1000


def _share(plant: Plant, row: Crop, book: Materials) -> tuple[float, str, str]:
    if row.share is not None:
        return row.share, "a vine or cane never carries itself: all of its load hangs on the wires", row.source
    years = book.limit("stiff_from_years")
    stiff = book.limits["stiff_share"]
    if plant.age_years > years:
        why = (
            f"a tree's arms are woody after {years:g} years: the wires guide it and carry {stiff.value:.0%} of its load"
        )
        return stiff.value, why, stiff.source
    return 1.0, f"a tree in its first {years:g} years still leans on the wires with its whole load", stiff.source


def _carriers(plant: Plant, support: Support, book: Materials) -> list[int]:
    """Indices of the wires that the crop of a plant hangs on."""
    count = len(support.wire_heights_mm)
    if book.form(plant.form, support.kind).carrier == "lowest":
        return [0]
    return list(range(count))
