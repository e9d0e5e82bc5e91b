"""A support, or a planting on it, priced: goods and hours handed to the business as plain values, and made an offer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil

from django.db import transaction

from business.errors import BadInput, Fault
from business.models import Quote
from business.services.estimates import Estimate, Wanted, WorkWanted, estimate
from business.services.quotes import draft_quote
from gardens.knowledge import load_knowledge
from gardens.knowledge.form_schema import rootstocks
from gardens.knowledge.material_book import materials
from gardens.models import Support, Tree
from gardens.services.designer import Design, Wish, design
from gardens.services.supports import Planting, core_support, planted_bill
from gardens.services.words import FORM_WORDS, species_name
from gardens.supports import Bill, BillLine, bill_of_materials
from gardens.units import Units, show_length

PRICE_UNITS = {"m": "metre", "piece": "piece", "tie": "piece", "l": "litre", "m³": "litre"}
"""Units of the goods as the price list has them; a cubic metre is a thousand litres."""

LITRES_IN_M3 = 1000
NOT_INCLUDED = (
    "Repairs to the wall, making good of paving and lawn, permissions and the owner's consent where the wall is shared."
)


@dataclass(frozen=True, kw_only=True)
class Costed:
    """A bill with its prices."""

    bill: Bill
    estimate: Estimate


def support_costed(support: Support, bill: Bill, on: date) -> Costed:
    """What it costs the client to have the support built as it is described."""
    work = [WorkWanted(text=_building_words(support), minutes=ceil(bill.minutes))]
    goods = [wanted(line) for line in bill.lines]
    return Costed(bill=bill, estimate=estimate(client=support.site.client, goods=goods, work=work, on=on))


def design_costed(support: Support, found: Design, on: date, *, with_support: bool) -> Costed:
    """What it costs to plant a design: trees, canes and ties, the planting, and the support where it is to be built."""
    planting = Planting(
        species=found.wish.species, form=found.wish.form, trees=len(found.trees), wires_mm=found.wires_mm
    )
    bill = planted_bill(support, planting, builds=with_support)
    goods = [young_trees(found.wish, len(found.trees)), *(wanted(line) for line in bill.lines)]
    work = [WorkWanted(text=f"Plant {_trees(len(found.trees))}", minutes=planting_minutes(len(found.trees)))]
    if with_support:
        work.insert(0, WorkWanted(text=_building_words(support), minutes=ceil(bill.minutes)))
    return Costed(bill=bill, estimate=estimate(client=support.site.client, goods=goods, work=work, on=on))


@transaction.atomic
def quote_support(*, support: Support, trees: Sequence[Tree], on: date, units: Units = "metric") -> Quote:
    """The support's bill as a draft offer; one that is open already comes back as it is.

    Raises:
        BadInput: its build cannot be read, or no tax rate is known for the day.
    """
    core = core_support(support, trees)
    costed = support_costed(support, bill_of_materials(core), on)
    return draft_quote(
        client=support.site.client,
        title=f"{_building_words(support)}, {support.name}"[:160],
        lines=costed.estimate.offered(),
        reference=f"support:{support.pk}",
        place=support.site.name[:160],
        words=_support_words(support, core.wire_heights_mm, units),
        not_included=NOT_INCLUDED,
    )


@transaction.atomic
def quote_design(*, support: Support, wish: Wish, on: date, with_support: bool, units: Units = "metric") -> Quote:
    """A planting as a draft offer; one for the same planting that is open already comes back as it is.

    Raises:
        BadInput: the planting cannot be, or no tax rate is known for the day.
    """
    found = design(support, wish, units=units)
    if not found.trees:
        raise BadInput([Fault("trees", "none fits here", "give it more room")])
    costed = design_costed(support, found, on, with_support=with_support)
    count = len(found.trees)
    what = f"{count} × {species_name(wish.species)}, {FORM_WORDS[wish.form]}"
    words = [f"Plant {_trees(count)}, {show_length(found.spacing_mm, units)} apart: {what}."]
    if with_support:
        words.append(_support_words(support, found.wires_mm, units))
    return draft_quote(
        client=support.site.client,
        title=f"{what}, {support.name}"[:160],
        lines=costed.estimate.offered(),
        reference=f"planting:{support.pk}:{wish.species}:{wish.form}:{count}:{'built' if with_support else 'planted'}",
        place=support.site.name[:160],
        words="\n".join(words),
        not_included=NOT_INCLUDED if with_support else "",
    )


def wanted(line: BillLine) -> Wanted:
    """A line of the bill in the units of the price list, and the same amount by length and mass where known."""
    quantity = Decimal(str(line.quantity))
    also: dict[str, Decimal] = {}
    if line.mass_kg:
        also["kilogram"] = Decimal(str(round(line.mass_kg, 2)))
    good = materials().goods[line.good]
    if good.length_mm and line.unit != "m":
        also["metre"] = quantity * good.length_mm / 1000
    if line.unit == "m³":
        quantity *= LITRES_IN_M3
    return Wanted(
        text=line.text[:1].upper() + line.text[1:],
        quantity=quantity,
        unit=PRICE_UNITS.get(line.unit, line.unit),
        codes=line.price_codes,
        also=also,
    )


def young_trees(wish: Wish, count: int) -> Wanted:
    """The trees to buy. Their price may stand by species and by what is planted, by species, or for any young tree."""
    known = rootstocks().get(wish.rootstock)
    stock = f" on {known.name}" if known else ""
    cultivar = f" '{wish.cultivar}'" if wish.cultivar else ""
    return Wanted(
        text=f"{species_name(wish.species).capitalize()}{cultivar}, {wish.start.replace('_', ' ')}{stock}",
        quantity=Decimal(count),
        unit="tree",
        codes=(f"young_tree-{wish.species}-{wish.start}", f"young_tree-{wish.species}", "young_tree"),
        also={"piece": Decimal(count)},
    )


def planting_minutes(count: int) -> int:
    """By the labour standard of planting. [min]"""
    standard = next(row for row in load_knowledge().standards if "plant" in row.kinds)
    return ceil(standard.fixed + standard.per_unit * count)


def _building_words(support: Support) -> str:
    return "Posts and wires" if support.kind == Support.Kind.POST_AND_WIRE else f"Wires on the {support.kind}"


def _support_words(support: Support, wires_mm: Sequence[int], units: Units) -> str:
    heights = ", ".join(show_length(height, units) for height in wires_mm)
    run = show_length(support.length_mm, units)
    return f"Put up {len(wires_mm)} wires along {run}, at {heights} above the ground, and tension them last."


def _trees(count: int) -> str:
    return "1 tree" if count == 1 else f"{count} trees"
