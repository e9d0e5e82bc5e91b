"""Load in the van: what the work of a round asks for, added up and rounded to what is carried."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials, materials


@dataclass(frozen=True, kw_only=True)
class VanLine:
    """One thing to load: how many, in packs where it is sold so, and what it weighs. [kg]"""

    good: str
    name: str
    kind: str
    quantity: float
    unit: str
    packs: int | None
    pack_size: float | None
    mass_kg: float


def load_in_the_van(wanted: Iterable[tuple[str, float]], *, book: Materials | None = None) -> tuple[VanLine, ...]:
    """Materials of many needs as one list, in the order of the goods file.

    Args:
        wanted: (good id, quantity) pairs as needs carry them; the same id may come often.
        book: the materials.

    Raises:
        BadInput: for ids that are not in `goods.toml` and quantities below zero, all of them at once.
    """
    book = book or materials()
    totals: dict[str, float] = {}
    faults: list[Fault] = []
    for good, quantity in wanted:
        if good not in book.goods:
            faults.append(
                Fault("materials", f"{good!r} is not a known material", f"use one of {', '.join(book.goods)}")
            )
        elif quantity < 0:
            faults.append(Fault(f"materials, {good}", f"{quantity:g} is below zero", "give what is needed"))
        else:
            totals[good] = totals.get(good, 0.0) + quantity
    if faults:
        raise BadInput(dict.fromkeys(faults))
    return tuple(_line(good, totals[good], book) for good in book.goods if totals.get(good))


def _line(good: str, total: float, book: Materials) -> VanLine:
    row = book.goods[good]
    quantity = ceil(total - 1e-9) if row.unit in ("piece", "tie") else round(total, 2)
    pack = min(row.packs, default=None)
    return VanLine(
        good=good,
        name=row.name,
        kind=row.kind,
        quantity=quantity,
        unit=row.unit,
        packs=ceil(quantity / pack - 1e-9) if pack else None,
        pack_size=pack,
        mass_kg=quantity * (row.mass_kg or 0.0),
    )
