"""Load in the van: what the work of a round asks for, added up by kind and size and rounded to what is carried."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials, materials
from gardens.supports.bill import Bill, coils, size_code
from gardens.supports.values import Support

WIRES_PER_SPARE = 3
JOINERS_PER_BREAK = 2
"""What is taken along to tighten wires: house default, so that one that breaks is mended at the same visit."""


@dataclass(frozen=True, kw_only=True)
class VanItem:
    """Something one job asks for. ``size`` tells sizes of a good apart ("2-5mm"), ``text`` names it with its size."""

    good: str
    quantity: float
    size: str = ""
    text: str = ""
    mass_kg: float = 0.0


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
    size: str = ""
    sold_as: str = ""


def load_in_the_van(
    wanted: Iterable[tuple[str, float] | VanItem], *, book: Materials | None = None
) -> tuple[VanLine, ...]:
    """Materials of many jobs as one list, in the order of the goods file, sizes of one good apart.

    Args:
        wanted: (good id, quantity) pairs as needs carry them, or items of a bill; the same may come often.
        book: the materials.

    Raises:
        BadInput: for ids that are not in `goods.toml` and quantities below zero, all of them at once.
    """
    book = book or materials()
    totals: dict[tuple[str, str], list[VanItem]] = {}
    faults: list[Fault] = []
    for one in wanted:
        item = one if isinstance(one, VanItem) else VanItem(good=one[0], quantity=one[1])
        if item.good not in book.goods:
            faults.append(
                Fault("materials", f"{item.good!r} is not a known material", f"use one of {', '.join(book.goods)}")
            )
        elif item.quantity < 0:
            faults.append(Fault(f"materials, {item.good}", f"{item.quantity:g} is below zero", "give what is needed"))
        else:
            totals.setdefault((item.good, item.size), []).append(item)
    if faults:
        raise BadInput(dict.fromkeys(faults))
    order = {good: place for place, good in enumerate(book.goods)}
    lines = (
        _line(items, book) for _, items in sorted(totals.items(), key=lambda pair: (order[pair[0][0]], pair[0][1]))
    )
    return tuple(line for line in lines if line.quantity > 0)


def items_of_bill(bill: Bill) -> tuple[VanItem, ...]:
    """Everything a support is built of, as things to load."""
    return tuple(
        VanItem(good=line.good, quantity=line.quantity, size=line.size, text=line.text, mass_kg=line.mass_kg)
        for line in bill.lines
    )


def items_to_tighten(support: Support, wires: int) -> tuple[VanItem, ...]:
    """Spares for wires that are tightened: one wire of its size, a tensioner and two joiners for every third."""
    spare_m, spares = support.run_mm / 1000, ceil(wires / WIRES_PER_SPARE)
    return (
        VanItem(
            good="straining_wire",
            quantity=spare_m,
            size=size_code(support.wire.diameter_mm),
            text=f"straining wire, {support.wire.name}",
            mass_kg=spare_m * support.wire.mass_kg_m,
        ),
        VanItem(good="wire_joiner", quantity=JOINERS_PER_BREAK * spares),
        VanItem(good="tensioner", quantity=spares),
    )


def _line(items: list[VanItem], book: Materials) -> VanLine:
    first = items[0]
    row = book.goods[first.good]
    total = sum(item.quantity for item in items)
    quantity = ceil(total - 1e-9) if row.unit in ("piece", "tie") else round(total, 2)
    if row.unit == "m":
        quantity = ceil(total - 1e-9)
    pack = min(row.packs, default=None)
    mass = sum(item.mass_kg for item in items) or quantity * (row.mass_kg or 0.0)
    return VanLine(
        good=first.good,
        name=next((item.text for item in items if item.text), row.name),
        kind=row.kind,
        quantity=quantity,
        unit=row.unit,
        packs=ceil(quantity / pack - 1e-9) if pack else None,
        pack_size=pack,
        mass_kg=mass,
        size=first.size,
        sold_as=coils(mass, row.packs_kg) if row.unit == "m" else "",
    )
