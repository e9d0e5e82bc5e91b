"""The reckoning of late interest, row by row; published cases stand in tests/reference/test_money_interest.py."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.interest import InterestRate, LateDebt, PartPayment, interest_by_parts, interest_split_by_rate
from business.money.late_claims import late_claim, reading_of

# European Central Bank main refinancing rate + 8 points, as the Irish Department of Enterprise published it for 2024.
RATES = [
    InterestRate(valid_from=date(2024, 1, 1), percent=Decimal("12.5"), source="first half-year"),
    InterestRate(valid_from=date(2024, 7, 1), percent=Decimal("12.25"), source="second half-year"),
]
UK = [InterestRate(valid_from=date(2024, 1, 1), percent=Decimal("13.25"), source="Bank of England 5.25 + 8")]


def test_british_part_payments_are_reckoned_piece_by_piece():
    debt = LateDebt(principal=Decimal(1000), due_on=date(2024, 1, 31))
    paid = [
        PartPayment(paid_on=date(2024, 2, 20), amount=Decimal(400)),
        PartPayment(paid_on=date(2024, 3, 21), amount=Decimal(600)),
    ]
    claim = late_claim(debt, reading="uk", rates=UK, payments=paid, until=date(2024, 5, 1))
    # 400 · 13.25 % · 20/365 + 600 · 13.25 % · 50/365 = 2.904 + 10.890; the same 13.79 as day by day on what was open.
    assert [(row.piece, row.days) for row in claim.periods] == [(Decimal(400), 20), (Decimal(600), 50)]
    assert claim.interest == Decimal("13.79")
    assert claim.fixed_sum == 70


def test_one_rate_or_two_as_the_country_reads_it():
    debt = LateDebt(principal=Decimal(1200), due_on=date(2024, 6, 10))
    until = date(2024, 8, 20)
    one = late_claim(debt, reading="eu_payment_day", rates=RATES, until=until)
    two = late_claim(debt, reading="eu_half_years", rates=RATES, until=until)
    assert (one.interest, one.fixed_sum) == (Decimal("28.59"), 40)
    assert [(row.days, row.percent) for row in two.periods] == [(20, Decimal("12.5")), (51, Decimal("12.25"))]
    assert two.interest == Decimal("28.76") == interest_split_by_rate(debt, rates=RATES, paid_on=until)


def test_nothing_can_be_claimed_before_it_is_late():
    debt = LateDebt(principal=Decimal(1200), due_on=date(2024, 6, 10))
    claim = late_claim(debt, reading="uk", rates=UK, until=date(2024, 6, 10))
    assert (claim.periods, claim.total) == ((), 0)


def test_a_debt_paid_in_time_bears_nothing():
    debt = LateDebt(principal=Decimal(1200), due_on=date(2024, 6, 10))
    paid = [PartPayment(paid_on=date(2024, 6, 10), amount=Decimal(1200))]
    assert late_claim(debt, reading="uk", rates=UK, payments=paid, until=date(2024, 9, 1)).total == 0


def test_what_was_paid_in_time_lowers_the_fixed_sum():
    debt = LateDebt(principal=Decimal(1200), due_on=date(2024, 6, 10))
    paid = [PartPayment(paid_on=date(2024, 6, 1), amount=Decimal(500))]
    assert late_claim(debt, reading="uk", rates=UK, payments=paid, until=date(2024, 9, 1)).fixed_sum == 40


@pytest.mark.parametrize(
    ("country", "reading"),
    [("GB", "uk"), ("IE", "eu_payment_day"), ("DE", "eu_half_years"), ("US", None), ("CH", None)],
)
def test_each_country_has_its_own_reading(country, reading):
    assert reading_of(country) == reading


@given(
    st.lists(
        st.tuples(st.integers(-20, 120), st.decimals("0.01", "600", places=2)),
        max_size=4,
    ),
    st.integers(0, 150),
)
def test_pieces_come_to_what_days_come_to(payments, days):
    debt = LateDebt(principal=Decimal(1000), due_on=date(2024, 2, 1))
    paid = [PartPayment(paid_on=debt.due_on + timedelta(days=day), amount=amount) for day, amount in payments]
    until = debt.due_on + timedelta(days=days)
    claim = late_claim(debt, reading="uk", rates=UK, payments=paid, until=until)
    assert claim.interest == interest_by_parts(debt, percent=Decimal("13.25"), payments=paid, until=until)
