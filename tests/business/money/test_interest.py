"""Interest on late payment, apart from the published examples in tests/reference."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.errors import BadInput
from business.money.interest import (
    InterestRate,
    LateDebt,
    PartPayment,
    interest_by_parts,
    interest_split_by_rate,
    rate_on,
    simple_interest,
    statutory_claim,
)

RATES = [
    InterestRate(valid_from=date(2024, 1, 1), percent=Decimal("12.5")),
    InterestRate(valid_from=date(2024, 7, 1), percent=Decimal("12.25")),
]
DEBT = LateDebt(principal=Decimal(1200), due_on=date(2024, 6, 10))


def test_a_day_before_every_rate_is_refused_with_its_date():
    with pytest.raises(BadInput) as refusal:
        rate_on(RATES, date(2023, 12, 31))

    assert "2023-12-31" in refusal.value.faults[0].wrong


def test_the_rate_changes_on_its_own_day():
    assert rate_on(RATES, date(2024, 6, 30)) == Decimal("12.5")
    assert rate_on(RATES, date(2024, 7, 1)) == Decimal("12.25")


@pytest.mark.parametrize("regime", ["uk", "eu"])
def test_paid_on_the_due_day_nothing_can_be_claimed(regime):
    claim = statutory_claim(DEBT, regime=regime, paid_on=DEBT.due_on, rates=RATES)

    assert (claim.days, claim.interest, claim.fixed_sum) == (0, Decimal(0), Decimal(0))


@pytest.mark.parametrize(("principal", "fixed"), [("999.99", 40), ("1000", 70), ("9999.99", 70), ("10000", 100)])
def test_the_british_fixed_sum_steps_with_the_debt(principal, fixed):
    debt = LateDebt(principal=Decimal(principal), due_on=date(2024, 1, 31))

    assert statutory_claim(debt, regime="uk", paid_on=date(2024, 2, 1), rates=RATES).fixed_sum == fixed


def test_paying_all_at_the_end_is_one_part():
    whole = simple_interest(principal=Decimal(1200), percent=Decimal("12.25"), days=71)

    assert interest_by_parts(DEBT, percent=Decimal("12.25"), payments=[], until=date(2024, 8, 20)) == whole


def test_payments_in_time_and_beyond_the_debt_bear_nothing():
    paid = [
        PartPayment(paid_on=date(2024, 6, 1), amount=Decimal(1000)),
        PartPayment(paid_on=date(2024, 6, 20), amount=Decimal(5000)),
    ]

    interest = interest_by_parts(DEBT, percent=Decimal("12.25"), payments=paid, until=date(2024, 12, 31))

    assert interest == simple_interest(principal=Decimal(200), percent=Decimal("12.25"), days=10)


@given(st.integers(min_value=0, max_value=900), st.integers(min_value=0, max_value=900))
def test_interest_never_falls_as_days_pass(first, second):
    earlier, later = sorted((first, second))
    day = DEBT.due_on + timedelta(days=earlier)
    next_day = DEBT.due_on + timedelta(days=later)

    assert interest_split_by_rate(DEBT, rates=RATES, paid_on=day) <= interest_split_by_rate(
        DEBT, rates=RATES, paid_on=next_day
    )


@given(st.integers(min_value=0, max_value=2000))
def test_one_unchanging_rate_needs_no_split(days):
    rates = [
        InterestRate(valid_from=date(2020, 1, 1), percent=Decimal(8)),
        InterestRate(valid_from=date(2024, 7, 1), percent=Decimal(8)),
    ]
    paid_on = DEBT.due_on + timedelta(days=days)

    split = interest_split_by_rate(DEBT, rates=rates, paid_on=paid_on)

    assert split == simple_interest(principal=DEBT.principal, percent=Decimal(8), days=days)


@pytest.mark.parametrize(("principal", "percent", "days"), [("-1", "8", 1), ("1", "-8", 1), ("1", "8", -1)])
def test_negative_principal_rate_or_days_are_refused(principal, percent, days):
    with pytest.raises(ValueError, match="negative"):
        simple_interest(principal=Decimal(principal), percent=Decimal(percent), days=days)
