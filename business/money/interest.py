"""Statutory interest on late payment between businesses. Simple interest, days of a year of 365, rounded once.

Directive 2011/7/EU and, in the United Kingdom, the Late Payment of Commercial Debts (Interest) Act 1998. Consumers are
not covered by either. The rates are data: central banks publish them twice a year, the caller hands them in.
Not legal advice; a person decides whether to claim.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from business.errors import BadInput, Fault
from business.money.amounts import rounded

Regime = Literal["uk", "eu"]


@dataclass(frozen=True, kw_only=True)
class InterestRate:
    """A yearly rate in force from a day on. [% a year]"""

    valid_from: date
    percent: Decimal
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class LateDebt:
    """What is owed since when; ``digits`` after the point in its currency."""

    principal: Decimal
    due_on: date
    digits: int = 2


@dataclass(frozen=True, kw_only=True)
class PartPayment:
    paid_on: date
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Claim:
    """What may be claimed on top of a debt."""

    days: int
    percent: Decimal
    interest: Decimal
    fixed_sum: Decimal


def rate_on(rates: Sequence[InterestRate], on: date) -> Decimal:
    """The rate in force on a day.

    Raises:
        BadInput: every row begins later.
    """
    begun = [rate for rate in rates if rate.valid_from <= on]
    if not begun:
        raise BadInput([Fault("late interest", f"no rate is known for {on}", "enter the rate of that half-year")])
    return max(begun, key=lambda rate: rate.valid_from).percent


def days_late(*, due_on: date, paid_on: date) -> int:
    """Whole days; the day after the due day counts as the first. Paid in time is 0."""
    return max(0, (paid_on - due_on).days)


def simple_interest(*, principal: Decimal, percent: Decimal, days: int, digits: int = 2) -> Decimal:
    """I = P · r/100 · days/365, rounded once at the end.

    Raises:
        ValueError: a negative principal, rate or number of days.
    """
    return rounded(_exact_interest(principal, percent, days), digits)


def interest_by_parts(debt: LateDebt, *, percent: Decimal, payments: Sequence[PartPayment], until: date) -> Decimal:
    """Interest at one rate on what was still open from day to day, up to and with ``until``.

    Payments made by the due day lower the principal and bear nothing; what exceeds the debt is left aside.
    """
    open_amount, since, exact = debt.principal, debt.due_on, Fraction(0)
    for payment in sorted(payments, key=lambda payment: payment.paid_on):
        if payment.paid_on > until:
            break
        exact += _exact_interest(open_amount, percent, days_late(due_on=since, paid_on=payment.paid_on))
        since = max(since, payment.paid_on)
        open_amount = max(Decimal(0), open_amount - payment.amount)
    exact += _exact_interest(open_amount, percent, days_late(due_on=since, paid_on=until))
    return rounded(exact, debt.digits)


def interest_split_by_rate(debt: LateDebt, *, rates: Sequence[InterestRate], paid_on: date) -> Decimal:
    """Interest where the law of the place lets the rate change along the way: each day bears the rate of that day.

    Raises:
        BadInput: no rate is known for one of the days.
    """
    edges = sorted({rate.valid_from for rate in rates if debt.due_on < rate.valid_from <= paid_on})
    exact, since = Fraction(0), debt.due_on
    for edge in edges:
        # The day before the change is the last one at the old rate.
        last = edge - timedelta(days=1)
        if last > since:
            exact += _exact_interest(debt.principal, rate_on(rates, last), (last - since).days)
            since = last
    days = days_late(due_on=since, paid_on=paid_on)
    if days:
        exact += _exact_interest(debt.principal, rate_on(rates, paid_on), days)
    return rounded(exact, debt.digits)


def statutory_claim(debt: LateDebt, *, regime: Regime, paid_on: date, rates: Sequence[InterestRate]) -> Claim:
    """Interest and fixed sum for one late invoice.

    ``uk``: the rate of the half-year in which the debt became late, and £40, £70 or £100.
    ``eu``: one rate, that in force on the day of payment (as the Irish authorities read the directive), and €40.

    Raises:
        BadInput: no rate is known for the day that decides.
    """
    days = days_late(due_on=debt.due_on, paid_on=paid_on)
    if days == 0:
        return Claim(days=0, percent=Decimal(0), interest=Decimal(0), fixed_sum=Decimal(0))
    became_late = debt.due_on + timedelta(days=1)
    percent = rate_on(rates, became_late if regime == "uk" else paid_on)
    interest = simple_interest(principal=debt.principal, percent=percent, days=days, digits=debt.digits)
    return Claim(days=days, percent=percent, interest=interest, fixed_sum=fixed_sum(regime, debt.principal))


def fixed_sum(regime: Regime, principal: Decimal) -> Decimal:
    """Compensation for the trouble of recovery, once for each late invoice.

    Source: Act 1998 section 5A (40, 70 from 1,000, 100 from 10,000 pounds); Directive 2011/7/EU article 6 (40 euros).
    """
    if regime == "eu":
        return Decimal(40)
    if principal < 1000:
        return Decimal(40)
    return Decimal(70) if principal < 10000 else Decimal(100)


def _exact_interest(principal: Decimal, percent: Decimal, days: int) -> Fraction:
    if principal < 0 or percent < 0 or days < 0:
        raise ValueError("principal, rate and days must not be negative")
    return Fraction(principal) * Fraction(percent) / 100 * days / 365
