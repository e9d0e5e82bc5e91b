"""Work becomes charges, once and only once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from business.errors import AlreadyDone, BadInput
from business.models import Charge
from business.money.pricing import Material
from business.services.billing import (
    WorkDone,
    charge,
    charge_instalments,
    charge_visit,
    months_after,
    split_charge,
    write_off,
)
from business.services.drafts import draft_invoices
from tests import make

pytestmark = pytest.mark.django_db

WIRE = Material(text="Wire 2.5 mm", quantity=Decimal(10), unit="metre", unit_cost=Decimal("0.40"))


def work(**values):
    given = {
        "reference": "visit:17",
        "done_on": date(2026, 3, 12),
        "place": "Orchard House",
        "person_minutes": 120,
        **values,
    }
    return WorkDone(**given)


def test_the_same_reference_is_charged_once():
    client = make.client()
    values: dict[str, Any] = {
        "client": client,
        "done_on": date(2026, 3, 12),
        "text": "Pruning",
        "reference": "visit:17:work",
    }

    first = charge(**values, unit_price=Decimal(85))
    again = charge(**values, unit_price=Decimal(99))

    assert first == again
    assert Charge.objects.get().amount == 85


def test_a_charge_takes_tax_and_currency_of_the_day():
    make.profile(currency="EUR")

    row = make.charge(unit_price=Decimal("33.333"), quantity=Decimal(3))

    assert (row.amount, row.currency, row.tax_percent) == (Decimal("100.00"), "EUR", Decimal(20))


def test_an_unregistered_business_charges_outside_the_tax():
    make.profile(tax_number="")

    row = make.charge()

    assert (row.tax_treatment, row.tax_percent) == ("outside", Decimal(0))


def test_a_charge_of_nothing_is_refused():
    with pytest.raises(BadInput):
        make.charge(quantity=Decimal(0))

    assert not Charge.objects.exists()


def test_a_visit_is_priced_by_the_agreement_of_its_day():
    client = make.client()
    make.agreement(
        client=client,
        hour_price=Decimal(36),
        travel_price=Decimal(12),
        materials_markup_percent=Decimal(25),
        discount_percent=Decimal(10),
    )

    rows = charge_visit(client=client, work=work(materials=[WIRE]))

    assert {row.reference: row.amount for row in rows} == {
        "visit:17:work": Decimal(72),
        "visit:17:material-1": Decimal(5),
        "visit:17:discount": Decimal("-7.70"),
        "visit:17:travel": Decimal(12),
    }
    assert {row.place for row in rows} == {"Orchard House"}


def test_charging_a_visit_again_changes_nothing():
    client = make.client()
    make.agreement(client=client)
    first = charge_visit(client=client, work=work())

    again = charge_visit(client=client, work=work(person_minutes=600))

    assert again == first
    assert Charge.objects.count() == 1


def test_another_visit_with_a_longer_number_is_not_mistaken_for_this_one():
    client = make.client()
    make.agreement(client=client)
    charge_visit(client=client, work=work(reference="visit:17"))

    assert len(charge_visit(client=client, work=work(reference="visit:1"))) == 1


def test_without_an_agreement_the_price_list_speaks():
    make.price(code="hour", net_price=Decimal(40))
    make.price(code="travel", text="Travel", unit="lump", net_price=Decimal(9))

    rows = charge_visit(client=make.client(), work=work())

    assert [row.amount for row in rows] == [Decimal(80), Decimal(9)]


def test_without_any_price_a_visit_is_refused_whole():
    with pytest.raises(BadInput) as refusal:
        charge_visit(client=make.client(), work=work())

    assert "no price of hour" in refusal.value.faults[0].wrong
    assert not Charge.objects.exists()


def test_instalments_are_charged_as_they_fall_due():
    client = make.client()
    make.agreement(
        client=client, basis="season_fixed", season_price=Decimal(100), instalments=3, valid_from=date(2026, 1, 31)
    )

    first = charge_instalments(until=date(2026, 2, 28))
    again = charge_instalments(until=date(2026, 2, 28))
    rest = charge_instalments(until=date(2026, 12, 31))

    assert [(row.done_on, row.amount) for row in first] == [
        (date(2026, 1, 31), Decimal("33.33")),
        (date(2026, 2, 28), Decimal("33.33")),
    ]
    assert again == []
    assert [(row.done_on, row.amount) for row in rest] == [(date(2026, 3, 31), Decimal("33.34"))]


def test_an_ended_season_asks_for_no_more_instalments():
    make.agreement(
        basis="season_fixed",
        season_price=Decimal(120),
        instalments=12,
        valid_from=date(2026, 1, 1),
        valid_until=date(2026, 3, 15),
    )

    assert len(charge_instalments(until=date(2026, 12, 31))) == 3


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2026, 12, 1), 12, date(2027, 12, 1)),
    ],
)
def test_months_are_counted_to_their_last_day(day, months, later):
    assert months_after(day, months) == later


def test_writing_off_needs_a_reason(office):
    row = make.charge()

    with pytest.raises(BadInput):
        write_off(charge=row, by=office, reason="  ")

    row.refresh_from_db()
    assert row.is_open


def test_what_is_written_off_is_not_invoiced(office):
    row = make.charge()

    write_off(charge=row, by=office, reason="Branch broken by us")

    assert draft_invoices(until=date(2030, 1, 1)) == []
    with pytest.raises(AlreadyDone):
        write_off(charge=row, by=office, reason="Again")


def test_a_charge_on_an_invoice_cannot_be_written_off(office):
    make.draft()

    with pytest.raises(AlreadyDone) as refusal:
        write_off(charge=Charge.objects.get(), by=office, reason="Too late")

    assert "credit" in refusal.value.faults[0].remedy


def test_the_parts_of_a_charge_are_the_whole():
    row = make.charge(unit_price=Decimal("100.01"))

    first, second = split_charge(charge=row, first_amount=Decimal("33.34"))

    assert (first.amount, second.amount) == (Decimal("33.34"), Decimal("66.67"))
    assert first.reference != second.reference


@pytest.mark.parametrize("first", ["0", "100", "150", "-20"])
def test_what_is_not_a_part_cannot_be_split_off(first):
    row = make.charge(unit_price=Decimal(100))

    with pytest.raises(BadInput):
        split_charge(charge=row, first_amount=Decimal(first))

    assert Charge.objects.get().amount == 100
