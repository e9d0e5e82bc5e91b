"""Interest on late payment against published rates, rules and examples.

UK   Late Payment of Commercial Debts (Interest) Act 1998: reference rate of the half-year in which the debt became late.
     Totals (base + 8) 11.5 % first half 2023, 13.0 % second half, 13.25 % first half 2024, as published in business
     guides of those years.
UK-G The government's page on late commercial payments works this example (from memory): £1,000 at 8.5 % is £85 a year,
     23p a day.
IE   Irish enterprise department, European Communities (Late Payment in Commercial Transactions) Regulations 2012: one
     rate, that of the day of payment; 8 % a year is published as 0.022 % a day; 10.50 % from 1 January 2023, 12.00 % from
     1 July 2023, 12.50 % from 1 January 2024, 12.25 % from 1 July 2024.
The amounts of the cases below are worked by hand from those rates with I = P · r/100 · days/365.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from business.money.interest import (
    InterestRate,
    LateDebt,
    PartPayment,
    interest_by_parts,
    interest_split_by_rate,
    simple_interest,
    statutory_claim,
)

D = Decimal

UK = [
    InterestRate(valid_from=date(2023, 1, 1), percent=D("11.5")),
    InterestRate(valid_from=date(2023, 7, 1), percent=D("13.0")),
    InterestRate(valid_from=date(2024, 1, 1), percent=D("13.25")),
]
IE = [
    InterestRate(valid_from=date(2023, 1, 1), percent=D("10.50")),
    InterestRate(valid_from=date(2023, 7, 1), percent=D("12.00")),
    InterestRate(valid_from=date(2024, 1, 1), percent=D("12.50")),
    InterestRate(valid_from=date(2024, 7, 1), percent=D("12.25")),
]


def test_a_year_and_a_day_of_the_government_s_example():
    assert simple_interest(principal=D(1000), percent=D("8.5"), days=365) == D("85.00")
    assert simple_interest(principal=D(1000), percent=D("8.5"), days=1) == D("0.23")


def test_eight_percent_a_year_is_0_022_percent_a_day():
    # 0.022 % of 100,000 is 22 for a day, to the two places the department publishes.
    assert round(simple_interest(principal=D(100_000), percent=D(8), days=1)) == 22


@pytest.mark.parametrize(
    ("principal", "percent", "days", "interest"),
    [
        ("1000", "13.25", 30, "10.89"),
        ("5000", "12.25", 101, "169.49"),
        ("1000", "12.25", 30, "10.07"),
        ("1500", "12.50", 45, "23.12"),
    ],
)
def test_simple_interest_is_rounded_once_at_the_end(principal, percent, days, interest):
    assert simple_interest(principal=D(principal), percent=D(percent), days=days) == D(interest)


def test_a_british_debt_keeps_the_rate_of_its_half_year():
    debt = LateDebt(principal=D("860.00"), due_on=date(2024, 1, 31))

    claim = statutory_claim(debt, regime="uk", paid_on=date(2024, 3, 15), rates=UK)

    assert (claim.days, claim.percent, claim.interest, claim.fixed_sum) == (44, D("13.25"), D("13.74"), D(40))


def test_a_debt_late_in_december_keeps_its_rate_into_january():
    debt = LateDebt(principal=D(1000), due_on=date(2023, 12, 30))

    claim = statutory_claim(debt, regime="uk", paid_on=date(2024, 1, 29), rates=UK)

    assert claim.percent == D("13.0")  # late from 31 December, though paid in the next half-year


def test_an_irish_debt_takes_the_rate_of_the_day_of_payment():
    debt = LateDebt(principal=D("1200.00"), due_on=date(2024, 6, 10))

    claim = statutory_claim(debt, regime="eu", paid_on=date(2024, 8, 20), rates=IE)

    assert (claim.days, claim.percent, claim.interest, claim.fixed_sum) == (71, D("12.25"), D("28.59"), D(40))


def test_splitting_at_the_half_year_gives_another_sum():
    debt = LateDebt(principal=D("1200.00"), due_on=date(2024, 6, 10))

    assert interest_split_by_rate(debt, rates=IE, paid_on=date(2024, 8, 20)) == D("28.76")


def test_part_payments_lower_what_bears_interest():
    debt = LateDebt(principal=D(1000), due_on=date(2024, 1, 31))
    paid = [
        PartPayment(paid_on=date(2024, 2, 20), amount=D(400)),
        PartPayment(paid_on=date(2024, 3, 21), amount=D(600)),
    ]

    assert interest_by_parts(debt, percent=D("13.25"), payments=paid, until=date(2024, 3, 21)) == D("13.79")
