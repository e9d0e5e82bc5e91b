"""Goods and hours priced by the price list of a day: nothing guessed, nothing free by accident."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from business.services.estimates import Wanted, WorkWanted, estimate
from business.services.quotes import draft_quote
from tests import make

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 25)

WIRE = Wanted(
    text="2.5 mm wire",
    quantity=Decimal("88.6"),
    unit="metre",
    codes=("straining_wire-2-5mm", "straining_wire"),
    also={"kilogram": Decimal("3.41")},
)
EYES = Wanted(text="Eye bolt, 10 mm", quantity=Decimal(8), unit="piece", codes=("eye_bolt-10mm", "eye_bolt"))
BUILD = WorkWanted(text="Posts and wires", minutes=200)


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def priced(*, client=None, goods=(WIRE, EYES), work=(BUILD,), on=DAY):
    return estimate(client=client or make.client(), goods=goods, work=work, on=on)


def by_text(found):
    return {line.text: line for line in found.lines}


def test_without_a_price_list_nothing_is_free():
    found = priced()

    assert len(found.unpriced) == 3
    assert {line.why for line in found.unpriced} == {"there is no price list yet"}
    assert found.net == 0


def test_goods_take_the_closest_code_and_the_markup_agreed():
    make.price(code="straining_wire", text="Wire", unit="metre", net_price=Decimal("0.50"))
    make.price(code="straining_wire-2-5mm", text="Wire 2.5 mm", unit="metre", net_price=Decimal("0.60"))
    client = make.client()
    make.agreement(client=client, materials_markup_percent=Decimal(15))

    line = by_text(priced(client=client))["2.5 mm wire"]

    # 0.60 and 15 % are 0.69 a metre; 88.6 m come to 61.13 (by hand: 61.134).
    assert (line.unit_price, line.amount) == (Decimal("0.690"), Decimal("61.13"))
    assert "15 %" in line.why


def test_a_price_for_the_kilogram_is_used_for_wire_counted_in_metres():
    make.price(code="straining_wire", text="Wire", unit="kilogram", net_price=Decimal("4.00"))

    line = by_text(priced())["2.5 mm wire"]

    assert (line.quantity, line.unit, line.amount) == (Decimal("3.41"), "kilogram", Decimal("13.64"))


def test_a_price_in_another_unit_is_never_bent_to_fit():
    make.price(code="eye_bolt", text="Eye bolts", unit="load", net_price=Decimal(90))

    line = by_text(priced())["Eye bolt, 10 mm"]

    assert line.unit_price is None
    assert line.why == "its price is for one load, the list counts piece"


def test_a_price_list_not_yet_in_force_prices_nothing():
    make.price(code="eye_bolt", text="Eye bolts", unit="piece", net_price=Decimal(2), valid_from=date(2027, 1, 1))

    line = by_text(priced())["Eye bolt, 10 mm"]

    assert line.unit_price is None
    assert line.why == "its price is in force from 1 January 2027 only"


def test_a_list_that_ran_out_gives_way_to_the_standard_one():
    """An agreement that ended took its price list with it; the standard list of that day holds."""
    old = make.price_list(name="Old prices")
    make.price(price_list=old, code="eye_bolt", text="Eye bolts, old", unit="piece", net_price=Decimal("1.00"))
    standard = make.price_list(name="Prices", is_standard=True)
    make.price(price_list=standard, code="eye_bolt", text="Eye bolts", unit="piece", net_price=Decimal("2.40"))
    client = make.client()
    make.agreement(client=client, price_list=old, valid_from=date(2026, 1, 1), valid_until=date(2026, 6, 30))

    during = by_text(priced(client=client, on=date(2026, 6, 30)))["Eye bolt, 10 mm"]
    after = by_text(priced(client=client, on=date(2026, 7, 1)))["Eye bolt, 10 mm"]

    assert (during.unit_price, after.unit_price) == (Decimal("1.000"), Decimal("2.400"))


def test_the_price_of_the_day_is_taken_and_not_a_later_one():
    for begins, price in ((date(2025, 1, 1), "2.00"), (date(2026, 12, 1), "2.50")):
        make.price(code="eye_bolt", text="Eye bolts", unit="piece", net_price=Decimal(price), valid_from=begins)

    assert by_text(priced())["Eye bolt, 10 mm"].unit_price == Decimal("2.000")
    assert by_text(priced(on=date(2026, 12, 1)))["Eye bolt, 10 mm"].unit_price == Decimal("2.500")


def test_hours_are_rounded_and_priced_as_agreed():
    make.price(code="hour", net_price=Decimal(36))
    client = make.client()
    make.agreement(client=client, hour_price=Decimal(40), rounding_minutes=15)

    listed, agreed = by_text(priced())["Posts and wires"], by_text(priced(client=client))["Posts and wires"]

    # 200 minutes are 3 h 20, charged as 3.5 hours.
    assert (listed.quantity, listed.amount) == (Decimal("3.50000"), Decimal("126.00"))
    assert agreed.amount == Decimal("140.00")


@pytest.mark.parametrize(("currency", "amount"), [("GBP", "61.13"), ("JPY", "61")])
def test_amounts_have_the_digits_of_the_currency(currency, amount):
    """ISO 4217: two decimals for GBP, none for JPY."""
    make.profile(currency=currency)
    make.price(code="straining_wire", text="Wire", unit="metre", net_price=Decimal("0.69"))

    found = priced(goods=(WIRE,), work=())

    assert (found.currency, found.net) == (currency, Decimal(amount))


@pytest.mark.parametrize("currency", ["GBP", "JPY"])
def test_the_offer_carries_the_currency_and_tax_of_the_day(currency):
    make.profile(currency=currency)
    make.price(code="eye_bolt", text="Eye bolts", unit="piece", net_price=Decimal(100))

    quote = draft_quote(client=make.client(), title="Eyes", lines=priced(goods=(EYES,), work=()).offered())

    assert (quote.currency, quote.net, quote.tax) == (currency, Decimal(800), Decimal(160))


def test_a_client_who_accounts_for_the_tax_keeps_that_treatment():
    make.price(code="eye_bolt", text="Eye bolts", unit="piece", net_price=Decimal(2))
    client = make.client()
    make.agreement(client=client, tax_treatment="reverse_charge")

    assert {line.tax_treatment for line in priced(client=client).lines} == {"reverse_charge"}


def test_what_has_no_price_goes_into_the_offer_by_name():
    make.price(code="hour", net_price=Decimal(36))
    found = priced()

    quote = draft_quote(client=make.client(), title="Posts and wires", lines=found.offered())

    assert {line.text for line in quote.lines.filter(is_unpriced=True)} == {"2.5 mm wire", "Eye bolt, 10 mm"}
    assert quote.net == found.net == Decimal("126.00")
