"""What a visit comes to under the terms agreed with a client."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from business.money.amounts import line_amount, rounded

Basis = Literal["by_visit", "by_hour", "season_fixed", "per_tree"]


@dataclass(frozen=True, kw_only=True)
class Terms:
    """An agreement as the reckoning needs it. Prices are net, or gross where prices include tax.

    ``rounding_minutes``: person-minutes of a visit are rounded up to a whole number of these. [min]
    """

    basis: Basis
    hour_price: Decimal | None = None
    visit_price: Decimal | None = None
    tree_price: Decimal | None = None
    rounding_minutes: int = 15
    minimum_charge: Decimal = Decimal(0)
    travel_price: Decimal = Decimal(0)
    materials_markup_percent: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)
    included_visits: int | None = None

    def __post_init__(self) -> None:
        needed = {"by_visit": self.visit_price, "by_hour": self.hour_price, "per_tree": self.tree_price}
        if self.basis in needed and needed[self.basis] is None:
            raise ValueError(f"terms {self.basis} need their price")
        if self.rounding_minutes < 1:
            raise ValueError("rounding_minutes must be at least 1")


@dataclass(frozen=True, kw_only=True)
class Material:
    """Something used up, at what it cost us for one unit. ``key`` tells it from the others of the same visit."""

    text: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    key: str = ""


@dataclass(frozen=True, kw_only=True)
class Work:
    """What a visit took. ``person_minutes``: everybody's minutes added. [min]

    ``shares_travel``: somebody near was visited on the same way, the minimum charge is waived.
    ``visits_before``: finished visits earlier in the agreement's year.
    """

    person_minutes: int
    trees: int = 0
    materials: Sequence[Material] = field(default_factory=tuple)
    shares_travel: bool = False
    visits_before: int = 0


@dataclass(frozen=True, kw_only=True)
class PricedLine:
    """One line to charge. ``part`` makes its reference unique within the visit."""

    part: str
    kind: str
    text: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    amount: Decimal


def price_visit(terms: Terms, work: Work, *, digits: int = 2) -> tuple[PricedLine, ...]:
    """The lines of one visit: work, materials, travel, discount, and what is missing to the minimum charge.

    A discount is taken off work and materials, not off travel. The minimum charge is compared with the work alone,
    and does not apply to a season at a fixed price.
    """
    lines = [*_work_lines(terms, work, digits), *_material_lines(terms, work.materials, digits)]
    lines += _discount(terms, lines, "discount", digits)
    if terms.travel_price:
        lines.append(_lump("travel", "travel", "Travel", rounded(terms.travel_price, digits)))
    return tuple(lines)


def price_materials(terms: Terms, materials: Sequence[Material], *, digits: int = 2) -> tuple[PricedLine, ...]:
    """The lines of materials alone, for what was written down after its visit had been charged."""
    lines = _material_lines(terms, materials, digits)
    keys = "-".join(material.key for material in materials[:1])
    return (*lines, *_discount(terms, lines, f"discount-{keys}", digits))


def billed_hours(person_minutes: int, *, rounding_minutes: int) -> Fraction:
    """Hours charged: minutes rounded up to whole steps. [h]

    Raises:
        ValueError: negative minutes.
    """
    if person_minutes < 0:
        raise ValueError("person_minutes must not be negative")
    steps = -(-person_minutes // rounding_minutes)
    return Fraction(steps * rounding_minutes, 60)


def price_with_markup(cost: Decimal, *, markup_percent: Decimal, digits: int = 2) -> Decimal:
    """What a material that cost us ``cost`` is sold for."""
    return rounded(Fraction(cost) * (100 + Fraction(markup_percent)) / 100, digits)


@dataclass(frozen=True, kw_only=True)
class HourCost:
    """What an hour must carry over a year. ``on_cost_percent``: on top of wages. Hours in [h], money a year."""

    wage: Decimal
    on_cost_percent: Decimal
    paid_hours: Decimal
    overhead: Decimal
    billable_hours: Decimal

    def __post_init__(self) -> None:
        if self.billable_hours <= 0:
            raise ValueError("billable_hours must be above 0")


def hour_price_to_break_even(cost: HourCost, *, margin_percent: Decimal = Decimal(0), digits: int = 2) -> Decimal:
    """The price of an hour that pays wages, overhead and the margin wanted.

    (wage · (1 + on-cost) · paid hours + overhead) / billable hours / (1 − margin); common practice.

    Raises:
        ValueError: a margin below 0 or of 100 % or more.
    """
    if not 0 <= margin_percent < 100:
        raise ValueError("margin_percent must lie between 0 and 100")
    wages = Fraction(cost.wage) * (100 + Fraction(cost.on_cost_percent)) / 100 * Fraction(cost.paid_hours)
    needed = (wages + Fraction(cost.overhead)) / Fraction(cost.billable_hours)
    return rounded(needed / (1 - Fraction(margin_percent) / 100), digits)


def _work_lines(terms: Terms, work: Work, digits: int) -> list[PricedLine]:
    if terms.basis == "season_fixed":
        return _season_lines(terms, work, digits)
    line = _WORK[terms.basis](terms, work, digits)
    lines = [line] if line.quantity else []
    short = rounded(terms.minimum_charge, digits) - line.amount
    if short > 0 and not work.shares_travel:
        lines.append(_lump("minimum", "minimum", "Up to the minimum charge", short))
    return lines


def _season_lines(terms: Terms, work: Work, digits: int) -> list[PricedLine]:
    """Nothing within the season price; a visit beyond the agreed number at the visit price, else by the hour."""
    if terms.included_visits is None or work.visits_before < terms.included_visits:
        return []
    if terms.visit_price is not None:
        return [replace(_one_visit(terms, work, digits), text="Visit beyond the season's number")]
    return [_hours(terms, work, digits)] if terms.hour_price is not None and work.person_minutes else []


def _one_visit(terms: Terms, work: Work, digits: int) -> PricedLine:
    price = terms.visit_price or Decimal(0)
    return PricedLine(
        part="work",
        kind="labour",
        text="Garden visit",
        quantity=Decimal(1),
        unit="visit",
        unit_price=price,
        amount=rounded(price, digits),
    )


def _trees(terms: Terms, work: Work, digits: int) -> PricedLine:
    price, trees = terms.tree_price or Decimal(0), Decimal(work.trees)
    return PricedLine(
        part="work",
        kind="labour",
        text="Care of trained trees",
        quantity=trees,
        unit="tree",
        unit_price=price,
        amount=line_amount(quantity=trees, unit_price=price, digits=digits),
    )


def _hours(terms: Terms, work: Work, digits: int) -> PricedLine:
    # Five digits: a third of an hour times the price still rounds to the same cent as on the reader's calculator.
    hours = rounded(billed_hours(work.person_minutes, rounding_minutes=terms.rounding_minutes), 5)
    price = terms.hour_price or Decimal(0)
    return PricedLine(
        part="work",
        kind="labour",
        text="Work on trained trees",
        quantity=hours,
        unit="hour",
        unit_price=price,
        amount=line_amount(quantity=hours, unit_price=price, digits=digits),
    )


_WORK = {"by_visit": _one_visit, "per_tree": _trees, "by_hour": _hours}


def _material_lines(terms: Terms, materials: Sequence[Material], digits: int) -> list[PricedLine]:
    lines = []
    for number, material in enumerate(materials, start=1):
        # Quantity times the price shown must give the amount shown, so the mark-up goes on the unit price.
        price = price_with_markup(material.unit_cost, markup_percent=terms.materials_markup_percent, digits=3)
        amount = line_amount(quantity=material.quantity, unit_price=price, digits=digits)
        lines.append(
            PricedLine(
                part=f"material-{material.key or number}",
                kind="materials",
                text=material.text,
                quantity=material.quantity,
                unit=material.unit,
                unit_price=price,
                amount=amount,
            )
        )
    return lines


def _discount(terms: Terms, lines: Sequence[PricedLine], part: str, digits: int) -> list[PricedLine]:
    whole = Fraction(sum((line.amount for line in lines), Decimal(0)))
    discount = rounded(whole * Fraction(terms.discount_percent) / 100, digits)
    return [_lump(part, "discount", f"Discount {_plain(terms.discount_percent)}%", -discount)] if discount else []


def _lump(part: str, kind: str, text: str, amount: Decimal) -> PricedLine:
    return PricedLine(
        part=part, kind=kind, text=text, quantity=Decimal(1), unit="lump", unit_price=amount, amount=amount
    )


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"
