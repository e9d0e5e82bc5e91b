"""Sharing out: not a cent is lost or made."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.allocation import Debt, instalments, round_to_sum, settle, share_out

cents = st.integers(min_value=-10_000_000, max_value=10_000_000).map(lambda units: Decimal(units).scaleb(-2))
owed = st.integers(min_value=0, max_value=10_000_000).map(lambda units: Decimal(units).scaleb(-2))
weights = st.lists(st.integers(min_value=0, max_value=1000), min_size=1, max_size=50).filter(any)


@given(cents, weights)
def test_shares_sum_to_the_whole_exactly(total, shares):
    assert sum(share_out(total, shares)) == total


@given(cents, weights)
def test_each_share_is_within_a_cent_of_fair(total, shares):
    whole = sum(shares)

    for share, weight in zip(share_out(total, shares), shares, strict=True):
        assert abs(Fraction(share) - Fraction(total) * weight / whole) < Fraction(1, 100)


@pytest.mark.parametrize("shares", [[], [0, 0], [3, -1]])
def test_weights_that_share_nothing_are_refused(shares):
    with pytest.raises(ValueError, match="weights"):
        share_out(Decimal(10), shares)


def test_parts_far_from_their_total_are_refused():
    with pytest.raises(ValueError, match="do not round"):
        round_to_sum([Fraction(1), Fraction(2)], total=Decimal(5))


@given(owed, st.integers(min_value=1, max_value=24))
def test_instalments_sum_to_the_price_and_only_the_last_differs(total, number):
    parts = instalments(total, number)

    assert sum(parts) == total
    assert len(set(parts[:-1])) <= 1
    assert 0 <= parts[-1] - parts[0] < Decimal("0.01") * number


@pytest.mark.parametrize(("total", "number"), [("10", 0), ("-1", 2)])
def test_impossible_instalments_are_refused(total, number):
    with pytest.raises(ValueError, match="instalment"):
        instalments(Decimal(total), number)


debts = st.lists(
    st.builds(
        Debt,
        key=st.integers(min_value=1, max_value=10_000),
        due_on=st.integers(0, 700).map(lambda days: date(2026, 1, 1) + timedelta(days=days)),
        open_amount=owed,
    ),
    max_size=30,
    unique_by=lambda debt: debt.key,
)


@given(owed, debts)
def test_a_payment_is_either_on_debts_or_left_over(amount, open_debts):
    settlement = settle(amount, open_debts)

    assert sum((part for _, part in settlement.parts), settlement.left) == amount
    by_key = {debt.key: debt.open_amount for debt in open_debts}
    assert all(0 < part <= by_key[key] for key, part in settlement.parts)


@given(owed, debts)
def test_nothing_goes_to_a_later_debt_before_an_earlier_is_full(amount, open_debts):
    parts = dict(settle(amount, open_debts).parts)
    by_due_day = sorted(open_debts, key=lambda debt: (debt.due_on, debt.key))

    open_seen = False
    for debt in by_due_day:
        assert not (open_seen and parts.get(debt.key))
        open_seen = open_seen or parts.get(debt.key, Decimal(0)) < debt.open_amount


def test_a_negative_payment_is_refused():
    with pytest.raises(ValueError, match="negative"):
        settle(Decimal(-1), [])
