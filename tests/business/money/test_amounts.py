"""Rounding and single amounts."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.amounts import Taxed, line_amount, minor_digits, rounded, to_cents

amounts = st.decimals(min_value=-1_000_000, max_value=1_000_000, places=4)
rates = st.decimals(min_value=0, max_value=100, places=3)


@pytest.mark.parametrize(
    ("exact", "cents"),
    [
        ("0.005", "0.01"),
        ("-0.005", "-0.01"),
        ("0.0049", "0.00"),
        ("1.665", "1.67"),
        ("-0.125", "-0.13"),
        ("2.5", "2.50"),
    ],
)
def test_half_a_cent_goes_away_from_zero(exact, cents):
    assert to_cents(Decimal(exact)) == Decimal(cents)


@pytest.mark.parametrize(("currency", "digits"), [("GBP", 2), ("JPY", 0), ("KWD", 3), ("XXX", 2)])
def test_currencies_have_their_own_smallest_unit(currency, digits):
    assert minor_digits(currency) == digits


@given(amounts)
def test_rounding_moves_by_at_most_half_a_cent(amount):
    assert abs(Fraction(rounded(amount)) - Fraction(amount)) <= Fraction(1, 200)


@given(amounts)
def test_rounding_a_credit_mirrors_rounding_the_charge(amount):
    assert rounded(-amount) == -rounded(amount)


@given(amounts, rates)
def test_net_and_gross_views_of_an_amount_add_up(amount, rate):
    from_net = Taxed.from_net(amount, rate_percent=rate)
    from_gross = Taxed.from_gross(amount, rate_percent=rate)

    assert from_net.net + from_net.tax == from_net.gross
    assert from_gross.net + from_gross.tax == from_gross.gross == rounded(amount)


def test_parts_that_do_not_add_up_cannot_be_made():
    with pytest.raises(ValueError, match="is not"):
        Taxed(net=Decimal(1), tax=Decimal("0.20"), gross=Decimal("1.21"))


def test_a_line_is_rounded_once_after_its_discount():
    amount = line_amount(quantity=Decimal(3), unit_price=Decimal("0.333"), discount_percent=Decimal(10))

    assert amount == Decimal("0.90")  # 0.8991; rounding before the discount would give 0.90 of 1.00


@pytest.mark.parametrize("percent", ["-1", "100.01"])
def test_discounts_outside_0_to_100_are_refused(percent):
    with pytest.raises(ValueError, match="discount_percent"):
        line_amount(quantity=Decimal(1), unit_price=Decimal(1), discount_percent=Decimal(percent))


@pytest.mark.parametrize("rate", ["-0.1", "101"])
def test_tax_rates_outside_0_to_100_are_refused(rate):
    with pytest.raises(ValueError, match="rate_percent"):
        Taxed.from_net(Decimal(1), rate_percent=Decimal(rate))
