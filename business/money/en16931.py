"""The figures of an invoice as EN 16931 reckons them.

The standard knows lines at or above zero, allowances at the foot, one row of tax for each category and rate, and one
amount that may be rounded: what is due. Our papers know more customs (tax rounded line by line, prices with the tax
inside, discounts as lines of their own). ``standard_figures`` says the same in the standard's words and keeps what is
to be paid the same to the cent.

Source: EN 16931-1:2017, business terms BT-106 … BT-117 and rules BR-CO-10 … BR-CO-17; category codes of UNTDID 5305.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from business.money.amounts import exact_tax, line_amount, rounded

CATEGORIES = {
    "standard": "S",
    "reduced": "S",
    "zero": "Z",
    "exempt": "E",
    "reverse_charge": "AE",
    "outside": "O",
}

TAX_STRAYS_AT_MOST = Decimal("0.98")
"""The published rule files let the tax of a rate stray from base times rate by less than 1. Tax rounded line by line
stays far below that on any ordinary paper, and then the figure of the paper is kept."""


@dataclass(frozen=True, kw_only=True)
class BilledLine:
    """One line of our paper. ``unit_price`` holds the tax where the paper's prices do; ``net`` never does."""

    position: int
    text: str
    quantity: Decimal
    unit_price: Decimal
    net: Decimal
    tax: Decimal
    treatment: str
    rate_percent: Decimal


@dataclass(frozen=True, kw_only=True)
class StandardLine:
    """A line (BG-25): ``net`` is ``price`` for every ``per`` units, times ``quantity``."""

    source: BilledLine
    quantity: Decimal
    price: Decimal
    per: Decimal
    net: Decimal
    category: str
    rate_percent: Decimal


@dataclass(frozen=True, kw_only=True)
class Allowance:
    """What is taken off at the foot (BG-20); the amount is positive."""

    text: str
    amount: Decimal
    category: str
    rate_percent: Decimal


@dataclass(frozen=True, kw_only=True)
class CategoryTax:
    """One row of tax (BG-23)."""

    category: str
    rate_percent: Decimal
    base: Decimal
    tax: Decimal


@dataclass(frozen=True, kw_only=True)
class Figures:
    """All amounts, by their business terms."""

    lines: tuple[StandardLine, ...]
    allowances: tuple[Allowance, ...]
    taxes: tuple[CategoryTax, ...]
    line_total: Decimal  # BT-106
    allowance_total: Decimal  # BT-107
    net: Decimal  # BT-109
    tax: Decimal  # BT-110
    gross: Decimal  # BT-112
    paid: Decimal  # BT-113
    rounding: Decimal  # BT-114
    due: Decimal  # BT-115


def category_of(treatment: str, rate_percent: Decimal) -> str:
    """The code of UNTDID 5305; a taxed treatment whose rate is 0 % is zero rated."""
    code = CATEGORIES[treatment]
    return "Z" if code == "S" and rate_percent == 0 else code


def standard_figures(lines: Sequence[BilledLine], *, paid: Decimal = Decimal(0), digits: int = 2) -> Figures:
    """An invoice's or credit note's amounts as the standard writes them.

    A line whose price is below zero becomes an allowance of its rate, unless nothing else is left to be a line: then
    its quantity goes below zero, since no price may.

    Args:
        lines: of our paper, at least one; their nets and taxes are final.
        paid: before the paper was issued.
        digits: of the currency, at most 2 (the standard has no room for a third).

    Raises:
        ValueError: no line, or a currency of three digits.
    """
    if not lines or digits > 2:
        raise ValueError("at least one line, in a currency of at most two digits")
    is_discount = [line.net < 0 and line.quantity > 0 for line in lines]
    if all(is_discount):
        is_discount = [False] * len(lines)
    kept = tuple(_line(line, digits) for line, off in zip(lines, is_discount, strict=True) if not off)
    allowances = tuple(_allowance(line) for line, off in zip(lines, is_discount, strict=True) if off)
    taxes = _taxes(lines, digits)
    line_total = _sum(line.net for line in kept)
    allowance_total = _sum(allowance.amount for allowance in allowances)
    net, tax = line_total - allowance_total, _sum(row.tax for row in taxes)
    payable = _sum(line.net + line.tax for line in lines)
    return Figures(
        lines=kept,
        allowances=allowances,
        taxes=taxes,
        line_total=line_total,
        allowance_total=allowance_total,
        net=net,
        tax=tax,
        gross=net + tax,
        paid=paid,
        rounding=payable - (net + tax),
        due=payable - paid,
    )


def wrong_cents(figures: Figures, *, digits: int = 2) -> tuple[str, ...]:
    """What does not add up to the cent, in words; nothing if all does.

    The published rule files allow a whole unit of slack and never multiply a line out; this does neither.
    """
    wrong = []
    for line in figures.lines:
        if rounded(Fraction(line.quantity) * Fraction(line.price) / Fraction(line.per), digits) != line.net:
            wrong.append(f"line {line.source.position}: {line.quantity} × {line.price}/{line.per} is not {line.net}")
    for row in figures.taxes:
        parts = [line.net for line in figures.lines if (line.category, line.rate_percent) == _kind(row)]
        parts += [-off.amount for off in figures.allowances if (off.category, off.rate_percent) == _kind(row)]
        if _sum(parts) != row.base:
            wrong.append(f"tax {row.category} {row.rate_percent}%: its lines do not sum to {row.base}")
    sums = (
        ("lines", _sum(line.net for line in figures.lines), figures.line_total),
        ("allowances", _sum(off.amount for off in figures.allowances), figures.allowance_total),
        ("net", figures.line_total - figures.allowance_total, figures.net),
        ("bases of tax", _sum(row.base for row in figures.taxes), figures.net),
        ("tax", _sum(row.tax for row in figures.taxes), figures.tax),
        ("gross", figures.net + figures.tax, figures.gross),
        ("due", figures.gross - figures.paid + figures.rounding, figures.due),
    )
    wrong += [f"{name}: {parts} is not {whole}" for name, parts, whole in sums if parts != whole]
    return tuple(wrong)


def _line(line: BilledLine, digits: int) -> StandardLine:
    quantity, price, per = line.quantity, line.unit_price, Decimal(1)
    if line.net < 0 < quantity:
        quantity, price = -quantity, -price
    if price < 0 or line_amount(quantity=quantity, unit_price=price, digits=digits) != line.net:
        # The price of one is no finite number (the tax sits inside it): say the price of all of them.
        price, per = abs(line.net), abs(quantity)
        quantity = -abs(quantity) if line.net < 0 else abs(quantity)
    return StandardLine(
        source=line,
        quantity=quantity,
        price=price,
        per=per,
        net=line.net,
        category=category_of(line.treatment, line.rate_percent),
        rate_percent=line.rate_percent,
    )


def _allowance(line: BilledLine) -> Allowance:
    return Allowance(
        text=line.text,
        amount=-line.net,
        category=category_of(line.treatment, line.rate_percent),
        rate_percent=line.rate_percent,
    )


def _taxes(lines: Sequence[BilledLine], digits: int) -> tuple[CategoryTax, ...]:
    """One row for each category and rate, the highest rate first."""
    bases: dict[tuple[str, Decimal], tuple[Decimal, Decimal]] = {}
    for line in lines:
        kind = (category_of(line.treatment, line.rate_percent), line.rate_percent)
        base, tax = bases.get(kind, (Decimal(0), Decimal(0)))
        bases[kind] = (base + line.net, tax + line.tax)
    return tuple(
        CategoryTax(category=category, rate_percent=rate, base=base, tax=_told_tax(base, tax, rate, digits))
        for (category, rate), (base, tax) in sorted(bases.items(), key=lambda item: (-item[0][1], item[0][0]))
    )


def _told_tax(base: Decimal, tax: Decimal, rate: Decimal, digits: int) -> Decimal:
    """The paper's own tax, unless it strays too far from base times rate; then the standard's, and what is due is
    rounded back (BT-114)."""
    reckoned = rounded(exact_tax(base, rate_percent=rate, includes_tax=False), digits)
    return tax if abs(tax - reckoned) <= TAX_STRAYS_AT_MOST and tax * reckoned >= 0 else reckoned


def _kind(row: CategoryTax) -> tuple[str, Decimal]:
    return row.category, row.rate_percent


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
