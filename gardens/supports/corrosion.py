"""How long a coat of zinc lasts in the air of a place."""

from __future__ import annotations

from gardens.knowledge.material_book import Materials, materials

ZINC_KG_M3 = 7140
"""Density of zinc. [kg/m³], from memory."""

G_M2_PER_OZ_FT2 = 305.15


def coat_g_m2(coating: str, diameter_mm: float, *, book: Materials | None = None) -> float | None:
    """Zinc on a wire of this thickness. [g/m²] None for metal that needs no coat."""
    row = (book or materials()).coatings[coating]
    if row.needs_none:
        return None
    steps = [step.mass for step in row.mass_g_m2 if diameter_mm <= step.up_to_mm]
    return steps[0] if steps else row.mass_g_m2[-1].mass


def coat_um(mass_g_m2: float) -> float:
    """Thickness of a coat of zinc: mass / 7.14. [µm]"""
    return mass_g_m2 / (ZINC_KG_M3 / 1000)


def coat_years(
    coating: str, diameter_mm: float, exposure: str, *, book: Materials | None = None
) -> tuple[float, float] | None:
    """Shortest and longest life of a coat: its thickness over the yearly loss. [years] None for metal without need.

    Source: ISO 9223 for the loss.
    """
    book = book or materials()
    mass = coat_g_m2(coating, diameter_mm, book=book)
    if mass is None:
        return None
    slow, quick = book.exposures[exposure].zinc_um_per_year
    return coat_um(mass) / quick, coat_um(mass) / slow


def coat_middle_years(
    coating: str, diameter_mm: float, exposure: str, *, book: Materials | None = None
) -> float | None:
    """Life of a coat at the middle of the yearly loss. [years] None for metal without need."""
    book = book or materials()
    mass = coat_g_m2(coating, diameter_mm, book=book)
    return None if mass is None else coat_um(mass) / (sum(book.exposures[exposure].zinc_um_per_year) / 2)
