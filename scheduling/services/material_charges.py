"""What a crew used up becomes charges: each entry of a phone once, at the price of the list with the client's mark-up.

What the list does not know, or counts by another measure, waits for the office with a remark; it is never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from business.errors import AlreadyDone, BadInput, Fault
from business.models import Charge, Client, PriceList, Staff
from business.money.pricing import Material
from business.queries.clients import agreement_on
from business.queries.invoices import charge_by_reference
from business.queries.prices import price_of_good
from business.services.billing import WorkDone, charge_materials
from gardens.knowledge.material_book import materials
from scheduling.models import FieldAct, Visit
from scheduling.services.field_phones import close_act, said_on_visit
from scheduling.services.visit_days import day_done

UNPRICED = "material_unpriced"
UNITS = {"m": "metre", "kg": "kilogram", "l": "litre", "": "piece"}
"""How the materials book writes its measures, and how the price list does; others are written alike."""


@dataclass(frozen=True, kw_only=True)
class Used:
    """The materials of a visit: those with a price, and the entries of phones that have none."""

    priced: Sequence[Material]
    unpriced: Sequence[FieldAct]


def used_on(visit_id: int, client: Client, on: date) -> Used:
    """Everything that was said to be used up on a visit and not taken back."""
    agreement = agreement_on(client, on)
    price_list = agreement.price_list if agreement else None
    priced, unpriced = [], []
    for act in said_on_visit(visit_id).filter(kind=FieldAct.Kind.MATERIAL):
        material = _priced(act, on, price_list)
        if material is None:
            unpriced.append(act)
        else:
            priced.append(material)
    return Used(priced=priced, unpriced=unpriced)


def put_before_the_office(acts: Sequence[FieldAct]) -> None:
    """Remark entries without a price, unless the office has settled them."""
    fresh = [act for act in acts if UNPRICED not in act.flags]
    for act in fresh:
        act.flags = sorted({*act.flags, UNPRICED})
        act.is_open = act.closed_at is None
    FieldAct.objects.bulk_update(fresh, ["flags", "is_open"])


@transaction.atomic
def charge_at(*, act: FieldAct, unit_cost: Decimal, by: Staff) -> Charge:
    """The office names what one unit of an unknown material cost; it is charged with the client's mark-up.

    Raises:
        AlreadyDone: it is charged already.
        BadInput: not a material of a finished visit, or a price below zero.
    """
    act = FieldAct.objects.select_for_update(of=("self",)).select_related("visit__site__client").get(pk=act.pk)
    visit = act.visit
    if act.kind != FieldAct.Kind.MATERIAL or visit is None or visit.state != Visit.State.FINISHED:
        raise BadInput([Fault("entry", "is not a material of a finished visit", "choose a material")])
    if unit_cost < 0:
        raise BadInput([Fault("price", f"{unit_cost} is below zero", "say what one unit cost us")])
    if charge_by_reference(f"visit:{visit.pk}:material-{act.uid.hex}") is not None:
        raise AlreadyDone([Fault("material", "is charged already", "look under To charge")])
    name, quantity, unit = _said(act)
    material = Material(
        key=act.uid.hex,
        text=name,
        quantity=quantity,
        unit=unit if unit in PRICE_UNITS else "piece",
        unit_cost=unit_cost,
    )
    charges = charge_materials(
        client=visit.site.client,
        work=WorkDone(
            reference=f"visit:{visit.pk}",
            done_on=day_done(visit),
            place=visit.site.name,
            person_minutes=0,
            materials=[material],
        ),
    )
    close_act(act=act, by=by)
    return charges[0]


def _priced(act: FieldAct, on: date, price_list: PriceList | None) -> Material | None:
    name, quantity, unit = _said(act)
    if quantity <= 0:
        return None
    code = next((good.id for good in materials().goods.values() if good.name == name), "")
    item = price_of_good(code=code, name=name, on=on, price_list=price_list)
    if item is None or item.unit != unit:
        return None
    return Material(key=act.uid.hex, text=item.text, quantity=quantity, unit=item.unit, unit_cost=item.net_price)


PRICE_UNITS = frozenset({"hour", "day", "visit", "tree", "piece", "metre", "kilometre", "kilogram", "litre", "load"})


def _said(act: FieldAct) -> tuple[str, Decimal, str]:
    said = act.body.get("value") or {}
    unit = str(said.get("unit") or "").strip()
    quantity = round(Decimal(str(said.get("quantity") or 0)), 5)
    return str(said.get("name") or "").strip()[:300], quantity, UNITS.get(unit, unit)
