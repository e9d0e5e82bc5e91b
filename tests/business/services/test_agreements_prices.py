"""Prices, tax rates and agreements by date."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from business.errors import BadInput
from business.models import Agreement, PriceList
from business.queries.clients import agreement_on
from business.queries.prices import price_on, prices_on, tax_percent_on
from business.services.agreements import end_agreement, save_agreement
from business.services.prices import save_price_list, set_price, set_tax_rate
from tests import make

pytestmark = pytest.mark.django_db


def test_a_later_price_takes_over_on_its_own_day():
    make.price(code="hour", net_price=Decimal(34), valid_from=date(2025, 1, 1))
    make.price(code="hour", net_price=Decimal(36), valid_from=date(2026, 4, 1))

    before, after = price_on("hour", date(2026, 3, 31)), price_on("hour", date(2026, 4, 1))
    assert before is not None
    assert after is not None
    assert (before.net_price, after.net_price) == (Decimal(34), Decimal(36))
    assert price_on("hour", date(2024, 12, 31)) is None


def test_a_new_price_keeps_the_words_of_the_old():
    old = make.price(code="travel", text="Travel to you", unit="lump", net_price=Decimal(12))

    new = set_price(price_list=old.price_list, code="travel", valid_from=date(2027, 1, 1), net_price=Decimal(13))

    assert (new.text, new.unit, new.net_price) == ("Travel to you", "lump", Decimal(13))


def test_a_list_on_a_day_shows_each_code_once():
    price_list = make.price(code="hour", valid_from=date(2025, 1, 1)).price_list
    make.price(code="hour", valid_from=date(2026, 1, 1))
    make.price(code="travel", text="Travel", valid_from=date(2026, 6, 1))

    assert [item.code for item in prices_on(price_list, date(2026, 2, 1))] == ["hour"]
    assert [item.code for item in prices_on(price_list, date(2026, 7, 1))] == ["hour", "travel"]


def test_there_is_always_one_standard_list():
    first = save_price_list(name="Everyday")
    second = save_price_list(name="Estates", is_standard=True)

    first.refresh_from_db()
    assert (first.is_standard, second.is_standard) == (False, True)
    assert PriceList.objects.filter(is_standard=True).count() == 1


def test_a_negative_price_is_refused():
    with pytest.raises(BadInput):
        make.price(net_price=Decimal(-1))


def test_tax_is_that_of_the_day():
    make.profile()  # 20 % since 2011
    set_tax_rate(treatment="standard", valid_from=date(2026, 7, 1), percent=Decimal(21))

    assert tax_percent_on("standard", date(2026, 6, 30)) == 20
    assert tax_percent_on("standard", date(2026, 7, 1)) == 21
    assert tax_percent_on("exempt", date(2026, 7, 1)) == 0


def test_a_taxed_treatment_without_a_rate_is_refused():
    make.profile()

    with pytest.raises(BadInput) as refusal:
        tax_percent_on("reduced", date(2026, 1, 1))

    assert "reduced rate" in refusal.value.faults[0].wrong


def test_a_business_that_is_not_registered_charges_no_tax():
    make.profile(tax_number="")

    assert tax_percent_on("standard", date(2026, 1, 1)) == 0


def test_the_agreement_of_a_day_is_found():
    client = make.client()
    old = make.agreement(client=client, valid_from=date(2025, 1, 1), valid_until=date(2025, 12, 31))
    new = make.agreement(client=client, valid_from=date(2026, 1, 1))

    assert agreement_on(client, date(2025, 12, 31)) == old
    assert agreement_on(client, date(2026, 1, 1)) == new
    assert agreement_on(client, date(2024, 12, 31)) is None


@pytest.mark.parametrize(
    ("begins", "ends"),
    [(date(2026, 6, 1), None), (date(2024, 1, 1), date(2026, 3, 1)), (date(2026, 12, 31), date(2027, 6, 1))],
)
def test_overlapping_agreements_of_a_client_are_refused(begins, ends):
    client = make.client()
    make.agreement(client=client, valid_from=date(2026, 3, 1), valid_until=date(2026, 12, 31))

    with pytest.raises(BadInput) as refusal:
        make.agreement(client=client, valid_from=begins, valid_until=ends)

    assert "2026-03-01" in refusal.value.faults[0].wrong
    assert Agreement.objects.count() == 1


def test_another_client_s_agreement_does_not_stand_in_the_way():
    make.agreement()
    make.agreement()

    assert Agreement.objects.count() == 2


@pytest.mark.parametrize("basis", ["by_visit", "per_tree", "season_fixed"])
def test_an_agreement_without_its_price_is_refused(basis):
    with pytest.raises(BadInput) as refusal:
        make.agreement(basis=basis, hour_price=None)

    assert "price" in refusal.value.faults[0].where
    assert not Agreement.objects.exists()


def test_an_agreement_cannot_end_before_it_begins():
    agreement = make.agreement(valid_from=date(2026, 3, 1))

    with pytest.raises(BadInput):
        end_agreement(agreement=agreement, last_day=date(2026, 2, 28))


def test_an_ended_agreement_makes_room_for_the_next():
    client = make.client()
    first = make.agreement(client=client, valid_from=date(2026, 1, 1))
    end_agreement(agreement=first, last_day=date(2026, 6, 30))

    second = save_agreement(client=client, valid_from=date(2026, 7, 1), basis="by_visit", visit_price=Decimal(90))

    assert agreement_on(client, date(2026, 7, 1)) == second
