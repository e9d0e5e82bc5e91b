"""Work becomes charges, once and only once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import Agreement, Charge, Client, PriceList, Staff, TaxTreatment
from business.money.allocation import instalments
from business.money.amounts import line_amount, minor_digits
from business.money.pricing import Material, PricedLine, Terms, Work, price_materials, price_visit
from business.queries.clients import agreement_on, season_agreements
from business.queries.invoices import charge_by_reference, charges_about
from business.queries.prices import price_on, tax_percent_on
from business.queries.profile import our_profile
from business.services.rows import save_checked


@transaction.atomic
def charge(
    *,
    client: Client,
    done_on: date,
    text: str,
    unit_price: Decimal,
    reference: str,
    quantity: Decimal = Decimal(1),
    unit: str = "lump",
    kind: str = "other",
    place: str = "",
    tax_treatment: str = TaxTreatment.STANDARD,
    amount: Decimal | None = None,
) -> Charge:
    """One charge. Asked again with the same reference, the charge made the first time comes back unchanged.

    Args:
        unit_price: net, or with tax inside where the business's prices include tax.
        reference: says where it comes from and makes it unique, like "visit:17:labour".
        amount: quantity times price if not given.

    Raises:
        BadInput: a value breaks a law of the table, or no tax rate is known for the day.
    """
    # The client's row is the gate: two workers charging the same thing go through it one after the other.
    Client.objects.select_for_update().get(pk=client.pk)
    if (known := charge_by_reference(reference)) is not None:
        return known
    profile = our_profile()
    digits = minor_digits(profile.currency)
    if not profile.is_tax_registered:
        tax_treatment = TaxTreatment.OUTSIDE
    row = Charge(
        client=client,
        kind=kind,
        done_on=done_on,
        place=place,
        text=text,
        quantity=quantity,
        unit=unit,
        unit_price=unit_price,
        amount=line_amount(quantity=quantity, unit_price=unit_price, digits=digits) if amount is None else amount,
        currency=profile.currency,
        tax_treatment=tax_treatment,
        tax_percent=tax_percent_on(tax_treatment, done_on),
        reference=reference,
    )
    save_checked(row, where=f"charge {reference}")
    return row


@dataclass(frozen=True, kw_only=True)
class WorkDone:
    """A finished visit in plain values. ``reference`` names it, like "visit:17"; ``place`` in words the client knows.

    ``person_minutes``: everybody's minutes added [min]. ``visits_before``: finished visits in the agreement's year.
    """

    reference: str
    done_on: date
    place: str
    person_minutes: int
    trees: int = 0
    materials: Sequence[Material] = ()
    shares_travel: bool = False
    visits_before: int = 0


@transaction.atomic
def charge_visit(*, client: Client, work: WorkDone) -> list[Charge]:
    """Price a visit under the client's agreement of that day and charge it.

    Called again for the same visit, it changes nothing and returns what was charged.

    Raises:
        BadInput: there is neither an agreement nor a price of an hour for the day.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    if charged := list(charges_about(f"{work.reference}:")):
        return charged
    agreement = agreement_on(client, work.done_on)
    digits = minor_digits(our_profile().currency)
    lines = price_visit(terms_on(agreement, work.done_on), _as_work(work), digits=digits)
    treatment = agreement.tax_treatment if agreement else TaxTreatment.STANDARD
    return [_charge_line(client, work, line, treatment) for line in lines]


@transaction.atomic
def charge_materials(*, client: Client, work: WorkDone) -> list[Charge]:
    """Charge the materials of a visit that are not charged yet, each once by its key; those come back.

    A phone may bring a material long after its visit was charged.

    Raises:
        BadInput: see ``charge_visit``.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    fresh = [one for one in work.materials if charge_by_reference(f"{work.reference}:material-{one.key}") is None]
    if not fresh:
        return []
    agreement = agreement_on(client, work.done_on)
    lines = price_materials(terms_on(agreement, work.done_on), fresh, digits=minor_digits(our_profile().currency))
    treatment = agreement.tax_treatment if agreement else TaxTreatment.STANDARD
    return [_charge_line(client, work, line, treatment) for line in lines]


def terms_on(agreement: Agreement | None, on: date) -> Terms:
    """An agreement as the money core reckons with it; prices it leaves open come from the price list of that day.

    The codes ``hour`` and ``travel`` of the price list stand in for an agreement that names no price of an hour, and
    for a client without any agreement.

    Raises:
        BadInput: the hour has no price anywhere.
    """
    price_list = agreement.price_list if agreement else None
    if agreement is None:
        return Terms(
            basis="by_hour",
            hour_price=_listed("hour", on, price_list),
            travel_price=travel.net_price if (travel := price_on("travel", on)) else Decimal(0),
        )
    hour_price = agreement.hour_price
    if hour_price is None and agreement.basis == Agreement.Basis.BY_HOUR:
        hour_price = _listed("hour", on, price_list)
    return Terms(
        basis=agreement.basis,  # type: ignore[arg-type]  # the table holds the same four words
        hour_price=hour_price,
        visit_price=agreement.visit_price,
        tree_price=agreement.tree_price,
        rounding_minutes=agreement.rounding_minutes,
        minimum_charge=agreement.minimum_charge,
        travel_price=agreement.travel_price,
        materials_markup_percent=agreement.materials_markup_percent,
        discount_percent=agreement.discount_percent,
        included_visits=agreement.visits_a_year,
    )


@transaction.atomic
def charge_instalments(*, until: date) -> list[Charge]:
    """Charge the instalments of fixed-price seasons that fall due by a day. Those charged before are left alone."""
    digits = minor_digits(our_profile().currency)
    made = []
    for agreement in season_agreements(until):
        amounts = instalments(agreement.season_price or Decimal(0), agreement.instalments, digits=digits)
        for number, amount in enumerate(amounts, start=1):
            due_on = months_after(agreement.valid_from, number - 1)
            reference = f"agreement:{agreement.pk}:instalment:{number}"
            if due_on > until or (agreement.valid_until and due_on > agreement.valid_until):
                break
            if amount and charge_by_reference(reference) is None:
                text = "Season's care" if len(amounts) == 1 else f"Season's care, instalment {number} of {len(amounts)}"
                made.append(
                    charge(
                        client=agreement.client,
                        done_on=due_on,
                        text=text,
                        unit_price=amount,
                        reference=reference,
                        kind="instalment",
                        tax_treatment=agreement.tax_treatment,
                    )
                )
    return made


def months_after(day: date, months: int) -> date:
    """The same day of a later month, or that month's last day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for back in range(4):
        try:
            return date(year, month + 1, day.day - back)
        except ValueError:
            continue
    raise ValueError(f"no day like {day} in month {month + 1} of {year}")


@transaction.atomic
def write_off(*, charge: Charge, by: Staff, reason: str) -> Charge:
    """Give a charge up.

    Raises:
        AlreadyDone: it is on an invoice, or was written off before.
        BadInput: no reason is given.
    """
    charge = Charge.objects.select_for_update().get(pk=charge.pk)
    _must_be_open(charge)
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why the charge is given up")])
    charge.written_off_at = clock.now()
    charge.written_off_by = by
    charge.write_off_reason = reason.strip()
    save_checked(charge, only=["written_off_at", "written_off_by", "write_off_reason"])
    return charge


@transaction.atomic
def split_charge(*, charge: Charge, first_amount: Decimal) -> tuple[Charge, Charge]:
    """Make two of one charge, for instance to invoice a part now; together they are what the one was.

    Raises:
        AlreadyDone: it is on an invoice, or was written off.
        BadInput: the first part is not a part of it.
    """
    charge = Charge.objects.select_for_update().get(pk=charge.pk)
    _must_be_open(charge)
    digits = minor_digits(charge.currency)
    first = line_amount(quantity=Decimal(1), unit_price=first_amount, digits=digits)
    rest = charge.amount - first
    if not first or not rest or (first > 0) != (charge.amount > 0) or (rest > 0) != (charge.amount > 0):
        raise BadInput(
            [Fault("first part", f"{first_amount} is not a part of {charge.amount}", "choose less than all")]
        )
    number = charges_about(f"{charge.reference}:part:").count() + 2
    second = Charge.objects.get(pk=charge.pk)
    second.pk = None
    second._state.adding = True
    second.reference = f"{charge.reference}:part:{number}"
    for row, amount in ((charge, first), (second, rest)):
        row.quantity, row.unit, row.unit_price, row.amount = Decimal(1), "lump", amount, amount
    save_checked(charge)
    save_checked(second)
    return charge, second


def _must_be_open(charge: Charge) -> None:
    if charge.invoice_line_id is not None:
        raise AlreadyDone([Fault(charge.text, "is on an invoice", "take it off the draft, or credit the invoice")])
    if charge.written_off_at is not None:
        raise AlreadyDone([Fault(charge.text, "was written off", "nothing is left to do")])


def _charge_line(client: Client, work: WorkDone, line: PricedLine, treatment: str) -> Charge:
    return charge(
        client=client,
        done_on=work.done_on,
        text=line.text,
        unit_price=line.unit_price,
        reference=f"{work.reference}:{line.part}",
        quantity=line.quantity,
        unit=line.unit,
        kind=line.kind,
        place=work.place,
        tax_treatment=treatment,
        amount=line.amount,
    )


def _as_work(work: WorkDone) -> Work:
    return Work(
        person_minutes=work.person_minutes,
        trees=work.trees,
        materials=work.materials,
        shares_travel=work.shares_travel,
        visits_before=work.visits_before,
    )


def _listed(code: str, on: date, price_list: PriceList | None) -> Decimal:
    item = price_on(code, on, price_list=price_list)
    if item is None:
        raise BadInput([Fault("prices", f"no price of {code} is known for {on}", "enter it under Prices")])
    return item.net_price
