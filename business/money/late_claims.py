"""Late interest on one invoice, laid out so that a reader can reckon it again: piece by piece, period by period.

A part payment ends the interest on its piece of the debt. Each row is one piece over one period at one rate:
piece · rate / 100 · days / 365; the sum is rounded once, at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from business.money.amounts import rounded
from business.money.interest import InterestRate, LateDebt, PartPayment, fixed_sum, rate_on

Reading = Literal["uk", "eu_payment_day", "eu_half_years"]
"""uk: the rate of the half-year in which the debt became late, throughout (Act 1998, SI 2002/1675).
eu_payment_day: one rate, that of the day of payment, as the Irish authorities read Directive 2011/7/EU.
eu_half_years: each day bears the rate of its own half-year (common practice in other member states)."""

EU = frozenset(
    "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905
)


@dataclass(frozen=True, kw_only=True)
class InterestPeriod:
    """One row of the reckoning. ``days`` run from the day after ``after`` up to and with ``until``."""

    piece: Decimal
    after: date
    until: date
    days: int
    percent: Decimal
    source: str
    is_paid: bool

    @property
    def exact(self) -> Fraction:
        return Fraction(self.piece) * Fraction(self.percent) / 100 * self.days / 365


@dataclass(frozen=True, kw_only=True)
class LateClaim:
    """What may be claimed on top of a debt, as of a day."""

    reading: Reading
    periods: Sequence[InterestPeriod]
    interest: Decimal
    fixed_sum: Decimal

    @property
    def total(self) -> Decimal:
        return self.interest + self.fixed_sum


def reading_of(country: str) -> Reading | None:
    """How late interest is reckoned where the business sits (ISO 3166-1); None where neither law holds."""
    if country == "GB":
        return "uk"
    if country not in EU:
        return None
    return "eu_payment_day" if country == "IE" else "eu_half_years"


def late_claim(
    debt: LateDebt,
    *,
    reading: Reading,
    rates: Sequence[InterestRate],
    payments: Sequence[PartPayment] = (),
    until: date,
) -> LateClaim:
    """Interest up to and with ``until``, and the fixed sum; nothing while the debt is not late.

    Payments by the due day lower the debt and bear nothing; what exceeds the debt is left aside.

    Raises:
        BadInput: no rate is known for a day that decides.
    """
    periods = []
    for piece, ends, is_paid in _pieces(debt, payments, until):
        if ends > debt.due_on:
            periods += _periods(debt.due_on, (piece, ends, is_paid), reading, rates)
    interest = rounded(sum((period.exact for period in periods), Fraction(0)), debt.digits)
    # The fixed sum falls due once something is late, and goes by the debt that was late then.
    late = sum((piece for piece, ends, _ in _pieces(debt, payments, until) if ends > debt.due_on), Decimal(0))
    fixed = fixed_sum("uk" if reading == "uk" else "eu", late) if periods else Decimal(0)
    return LateClaim(reading=reading, periods=tuple(periods), interest=interest, fixed_sum=fixed)


def _pieces(debt: LateDebt, payments: Sequence[PartPayment], until: date) -> list[tuple[Decimal, date, bool]]:
    """The debt cut into the pieces that were paid together, each with its last day, the open rest last."""
    left, pieces = debt.principal, []
    for payment in sorted(payments, key=lambda payment: payment.paid_on):
        if payment.paid_on > until:
            break
        piece = min(payment.amount, left)
        if piece > 0:
            pieces.append((piece, payment.paid_on, True))
            left -= piece
    return [*pieces, (left, until, False)] if left > 0 else pieces


def _periods(
    due_on: date, piece: tuple[Decimal, date, bool], reading: Reading, rates: Sequence[InterestRate]
) -> list[InterestPeriod]:
    amount, until, is_paid = piece
    if reading == "eu_half_years":
        # The day before a change is the last one at the old rate.
        edges = {rate.valid_from - timedelta(days=1) for rate in rates}
        cuts = sorted({*(edge for edge in edges if due_on < edge < until), until})
    else:
        cuts = [until]
    periods, after = [], due_on
    for cut in cuts:
        decides = due_on + timedelta(days=1) if reading == "uk" else cut
        percent = rate_on(rates, decides)
        periods.append(
            InterestPeriod(
                piece=amount,
                after=after,
                until=cut,
                days=(cut - after).days,
                percent=percent,
                source=max((r for r in rates if r.valid_from <= decides), key=lambda r: r.valid_from).source,
                is_paid=is_paid,
            )
        )
        after = cut
    return periods
