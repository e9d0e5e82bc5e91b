"""Sharing an amount out without losing or making a cent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor

from business.money.amounts import rounded


def round_to_sum(exact: Sequence[Fraction], *, total: Decimal, digits: int = 2) -> tuple[Decimal, ...]:
    """Round each exact part down or up so that the parts sum to ``total``: the largest remainders go up first.

    Args:
        exact: the parts before rounding; their sum lies within one smallest unit of ``total``.
        total: what the parts must give, with at most ``digits`` after the point.

    Raises:
        ValueError: the parts cannot sum to the total by rounding each of them down or up.
    """
    scale = 10**digits
    lower = [floor(part * scale) for part in exact]
    missing = Fraction(total) * scale - sum(lower)
    if missing.denominator != 1 or not 0 <= missing <= len(exact):
        raise ValueError(f"the parts do not round to {total}")
    by_remainder = sorted(range(len(exact)), key=lambda i: (lower[i] - exact[i] * scale, i))
    for i in by_remainder[: int(missing)]:
        lower[i] += 1
    return tuple(Decimal(units).scaleb(-digits) for units in lower)


def share_out(total: Decimal, weights: Sequence[Decimal | int], *, digits: int = 2) -> tuple[Decimal, ...]:
    """Split ``total`` in proportion to the weights; the shares sum to it exactly (method of largest remainders).

    Raises:
        ValueError: no weight, a negative one, or all are zero.
    """
    if not weights or any(weight < 0 for weight in weights) or not any(weights):
        raise ValueError("weights must not be negative, and one must be above zero")
    whole = sum(Fraction(weight) for weight in weights)
    exact = [Fraction(total) * Fraction(weight) / whole for weight in weights]
    return round_to_sum(exact, total=rounded(total, digits), digits=digits)


def instalments(total: Decimal, count: int, *, digits: int = 2) -> tuple[Decimal, ...]:
    """Equal instalments; what does not divide goes on the last one.

    Raises:
        ValueError: ``count`` is below one, or ``total`` is negative.
    """
    if count < 1 or total < 0:
        raise ValueError("an amount of at least 0 in at least 1 instalment")
    total = rounded(total, digits)
    each = Decimal(floor(Fraction(total) * 10**digits / count)).scaleb(-digits)
    return (each,) * (count - 1) + (total - each * (count - 1),)


@dataclass(frozen=True, kw_only=True)
class Debt:
    """Something owed: ``key`` names it for the caller."""

    key: int
    due_on: date
    open_amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Settlement:
    """Which debt gets how much of a payment, and what is left over."""

    parts: tuple[tuple[int, Decimal], ...]
    left: Decimal


def settle(amount: Decimal, debts: Sequence[Debt]) -> Settlement:
    """Put a payment to the debts, the one due first before the others; never more than is open.

    Raises:
        ValueError: the payment or a debt is negative.
    """
    if amount < 0 or any(debt.open_amount < 0 for debt in debts):
        raise ValueError("neither a payment nor a debt may be negative")
    left = amount
    parts = []
    for debt in sorted(debts, key=lambda debt: (debt.due_on, debt.key)):
        part = min(left, debt.open_amount)
        if part > 0:
            parts.append((debt.key, part))
            left -= part
    return Settlement(parts=tuple(parts), left=left)
