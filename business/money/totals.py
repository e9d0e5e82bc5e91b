"""From lines to the totals at the foot of a paper.

Two customs of rounding tax, one as lawful as the other where a state leaves the choice:

    line       each line's tax is rounded, the tax of the paper is their sum
    document   the tax of each rate is rounded once on the sum of its lines

Under both, the lines' shares of tax sum to the tax of the paper exactly: with ``document`` the cents are shared out by
largest remainder. So a journal, a credit note of one line and a tax summary always agree with the paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from business.money.allocation import round_to_sum
from business.money.amounts import Taxed, exact_tax, rounded

Rounding = Literal["line", "document"]


@dataclass(frozen=True, kw_only=True)
class Line:
    """One priced line. ``amount`` holds the tax inside if the paper's prices include tax."""

    amount: Decimal
    rate_percent: Decimal = Decimal(0)
    treatment: str = "standard"


@dataclass(frozen=True, kw_only=True)
class RateTotal:
    """What all lines of one treatment and rate come to."""

    treatment: str
    rate_percent: Decimal
    sums: Taxed


@dataclass(frozen=True, kw_only=True)
class Totals:
    """The foot of a paper. ``lines`` stand in the order given, ``rates`` from the highest rate down."""

    lines: tuple[Taxed, ...]
    rates: tuple[RateTotal, ...]
    net: Decimal
    tax: Decimal
    gross: Decimal


def total_up(lines: Sequence[Line], *, rounding: Rounding, includes_tax: bool = False, digits: int = 2) -> Totals:
    """Tax and totals of a paper.

    Args:
        lines: any number; negative amounts (a discount, something given back) are allowed.
        rounding: see the head of this module.
        includes_tax: the amounts hold their tax already.
        digits: of the currency.

    Raises:
        ValueError: a rate outside 0 … 100, or an unknown custom of rounding.
    """
    if rounding not in ("line", "document"):
        raise ValueError("rounding is line or document")
    taxed: list[Taxed | None] = [None] * len(lines)
    rates = []
    for treatment, rate in _kinds_of_tax(lines):
        places = [i for i, line in enumerate(lines) if (line.treatment, line.rate_percent) == (treatment, rate)]
        group = _taxed_group([lines[i] for i in places], rounding=rounding, includes_tax=includes_tax, digits=digits)
        for i, line_sums in zip(places, group, strict=True):
            taxed[i] = line_sums
        rates.append(RateTotal(treatment=treatment, rate_percent=rate, sums=sum_of(group)))
    whole = sum_of([rate.sums for rate in rates])
    done = tuple(line for line in taxed if line is not None)
    return Totals(lines=done, rates=tuple(rates), net=whole.net, tax=whole.tax, gross=whole.gross)


def sum_of(parts: Sequence[Taxed]) -> Taxed:
    """The parts added column by column."""
    return Taxed(
        net=sum((part.net for part in parts), Decimal(0)),
        tax=sum((part.tax for part in parts), Decimal(0)),
        gross=sum((part.gross for part in parts), Decimal(0)),
    )


def _kinds_of_tax(lines: Sequence[Line]) -> list[tuple[str, Decimal]]:
    kinds = {(line.treatment, line.rate_percent) for line in lines}
    return sorted(kinds, key=lambda kind: (-kind[1], kind[0]))


def _taxed_group(lines: Sequence[Line], *, rounding: Rounding, includes_tax: bool, digits: int) -> list[Taxed]:
    """Lines of one rate, each with its share of the tax."""
    amounts = [rounded(line.amount, digits) for line in lines]
    exact = [
        exact_tax(amount, rate_percent=line.rate_percent, includes_tax=includes_tax)
        for amount, line in zip(amounts, lines, strict=True)
    ]
    if rounding == "line":
        taxes: Sequence[Decimal] = [rounded(tax, digits) for tax in exact]
    else:
        taxes = round_to_sum(exact, total=rounded(sum(exact, Fraction(0)), digits), digits=digits)
    return [
        Taxed(net=amount - tax, tax=tax, gross=amount)
        if includes_tax
        else Taxed(net=amount, tax=tax, gross=amount + tax)
        for amount, tax in zip(amounts, taxes, strict=True)
    ]
