"""Amounts of money and how they are rounded.

One rule everywhere: half goes away from zero, for charges and for credits alike (−0.005 becomes −0.01). Between steps
nothing is rounded: exact fractions are carried to the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

# Digits after the point where it is not two. Source: ISO 4217, minor units (list of current currencies).
MINOR_DIGITS = {
    "BHD": 3,
    "CLP": 0,
    "IQD": 3,
    "ISK": 0,
    "JOD": 3,
    "JPY": 0,
    "KRW": 0,
    "KWD": 3,
    "LYD": 3,
    "OMR": 3,
    "PYG": 0,
    "TND": 3,
    "VND": 0,
    "XAF": 0,
    "XOF": 0,
}


def minor_digits(currency: str) -> int:
    """Digits after the point in a currency (ISO 4217 code); two where nothing else is known."""
    return MINOR_DIGITS.get(currency, 2)


def rounded(amount: Decimal | Fraction | int, digits: int = 2) -> Decimal:
    """The nearest amount with ``digits`` after the point; exactly half goes away from zero.

    Args:
        amount: exact; a Fraction where a Decimal would have to be cut.
        digits: 0 … 6, the smallest unit of the currency.
    """
    if not 0 <= digits <= 6:
        raise ValueError("digits must lie between 0 and 6")
    units = abs(Fraction(amount)) * 10**digits
    whole = (2 * units.numerator + units.denominator) // (2 * units.denominator)
    return Decimal(whole if amount >= 0 else -whole).scaleb(-digits)


def to_cents(amount: Decimal) -> Decimal:
    """The nearest amount with two digits, half away from zero."""
    return rounded(amount, 2)


def line_amount(
    *, quantity: Decimal, unit_price: Decimal, discount_percent: Decimal = Decimal(0), digits: int = 2
) -> Decimal:
    """Quantity times price, less the discount, rounded once.

    Raises:
        ValueError: the discount is below 0 or above 100.
    """
    if not 0 <= discount_percent <= 100:
        raise ValueError("discount_percent must lie between 0 and 100")
    return rounded(Fraction(quantity) * Fraction(unit_price) * (100 - Fraction(discount_percent)) / 100, digits)


@dataclass(frozen=True)
class Taxed:
    """An amount with its tax; the parts add up or the value cannot be made."""

    net: Decimal
    tax: Decimal
    gross: Decimal

    def __post_init__(self) -> None:
        if self.net + self.tax != self.gross:
            raise ValueError(f"{self.net} + {self.tax} is not {self.gross}")

    @classmethod
    def from_net(cls, net: Decimal, *, rate_percent: Decimal, digits: int = 2) -> Taxed:
        net = rounded(net, digits)
        tax = rounded(exact_tax(net, rate_percent=rate_percent, includes_tax=False), digits)
        return cls(net=net, tax=tax, gross=net + tax)

    @classmethod
    def from_gross(cls, gross: Decimal, *, rate_percent: Decimal, digits: int = 2) -> Taxed:
        gross = rounded(gross, digits)
        tax = rounded(exact_tax(gross, rate_percent=rate_percent, includes_tax=True), digits)
        return cls(net=gross - tax, tax=tax, gross=gross)


def exact_tax(amount: Decimal, *, rate_percent: Decimal, includes_tax: bool) -> Fraction:
    """The tax on a net amount, or the tax inside a gross one, not rounded.

    Raises:
        ValueError: the rate is below 0 or above 100.
    """
    if not 0 <= rate_percent <= 100:
        raise ValueError("rate_percent must lie between 0 and 100")
    rate = Fraction(rate_percent)
    return Fraction(amount) * rate / (100 + rate if includes_tax else 100)
