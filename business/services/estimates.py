"""What a list of goods and hours would cost a client: priced by the price list of a day, nothing guessed.

    found = estimate(client=client, goods=[Wanted(…)], work=[WorkWanted(…)], on=today)
    found.net, found.unpriced
    draft_quote(client=client, title=…, lines=found.offered())

The lists come from other rooms in plain values. What has no price stays on the list and is named.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from business.models import Agreement, Client, PriceItem, PriceList, TaxTreatment, Unit
from business.money.amounts import line_amount, minor_digits
from business.money.pricing import billed_hours, price_with_markup
from business.queries.clients import agreement_on
from business.queries.prices import first_price_of, price_on, standard_price_list
from business.queries.profile import our_profile
from business.services.quotes import Offered

HOUR = "hour"
USUAL_ROUNDING_MINUTES = 15


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Something to buy. ``unit`` is one of the price list's.

    ``codes``: where its price may stand in the price list, the closest first, like ("line_post-100mm", "line_post").
    ``also``: the same amount counted in other units, like {"kilogram": 1.3}, for a price that is for one of those.
    """

    text: str
    quantity: Decimal
    unit: str
    codes: Sequence[str]
    also: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class WorkWanted:
    """Work of one trained person. [min]"""

    text: str
    minutes: int


@dataclass(frozen=True, kw_only=True)
class EstimateLine:
    """One line with its price, or why it has none.

    ``unit_price`` and ``amount``: with the mark-up, in the business's currency; None where no price is known. ``code``:
    where the price stands, or where it would be looked for.
    """

    kind: str
    text: str
    quantity: Decimal
    unit: str
    unit_price: Decimal | None
    amount: Decimal | None
    code: str
    why: str
    tax_treatment: str

    @property
    def is_priced(self) -> bool:
        return self.unit_price is not None


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A priced list. ``net`` adds up what has a price; it is the whole sum only where nothing is ``unpriced``."""

    lines: tuple[EstimateLine, ...]
    currency: str
    price_list: str
    markup_percent: Decimal
    on: date

    @property
    def net(self) -> Decimal:
        return sum((line.amount for line in self.lines if line.amount is not None), Decimal(0))

    @property
    def unpriced(self) -> tuple[EstimateLine, ...]:
        return tuple(line for line in self.lines if not line.is_priced)

    def offered(self) -> list[Offered]:
        """The lines of an offer; one without a price goes along as such."""
        return [
            Offered(
                text=line.text,
                quantity=line.quantity,
                unit=line.unit,
                unit_price=line.unit_price,
                tax_treatment=line.tax_treatment,
            )
            for line in self.lines
        ]


def estimate(*, client: Client, goods: Sequence[Wanted], work: Sequence[WorkWanted], on: date) -> Estimate:
    """Price goods and hours for a client on a day.

    Goods: the newest price of the client's list (else the standard one) in force that day, with the mark-up agreed.
    Hours: the price agreed, else the list's ``hour``, each job rounded up as agreed.
    """
    return _Pricer(client, on).estimate(goods, work)


class _Pricer:
    """One client on one day: whose list, which mark-up, which hour."""

    def __init__(self, client: Client, on: date) -> None:
        self.on = on
        self.agreement: Agreement | None = agreement_on(client, on)
        self.price_list: PriceList | None = (
            self.agreement.price_list if self.agreement and self.agreement.price_list else standard_price_list()
        )
        self.currency = our_profile().currency
        self.digits = minor_digits(self.currency)
        self.markup = self.agreement.materials_markup_percent if self.agreement else Decimal(0)

    def estimate(self, goods: Sequence[Wanted], work: Sequence[WorkWanted]) -> Estimate:
        return Estimate(
            lines=(*(self._good(good) for good in goods), *(self._work(job) for job in work if job.minutes > 0)),
            currency=self.currency,
            price_list=self.price_list.name if self.price_list else "",
            markup_percent=self.markup,
            on=self.on,
        )

    def _good(self, good: Wanted) -> EstimateLine:
        for code in good.codes:
            item = price_on(code, self.on, price_list=self.price_list) if self.price_list else None
            if item is None:
                continue
            quantity = good.quantity if item.unit == good.unit else good.also.get(item.unit)
            if quantity is None:
                return self._without(
                    good, f"its price is for one {item.get_unit_display()}, the list counts {_unit(good.unit)}"
                )
            return self._priced(good, item, quantity)
        return self._without(good, self._missing(good.codes))

    def _priced(self, good: Wanted, item: PriceItem, quantity: Decimal) -> EstimateLine:
        price = price_with_markup(item.net_price, markup_percent=self.markup, digits=max(3, self.digits))
        marked = f" + {self.markup.normalize():f} %" if self.markup else ""
        return EstimateLine(
            kind="materials",
            text=good.text,
            quantity=quantity,
            unit=item.unit,
            unit_price=price,
            amount=line_amount(quantity=quantity, unit_price=price, digits=self.digits),
            code=item.code,
            why=f"{item.text}{marked}, from {item.valid_from:%-d %B %Y}",
            tax_treatment=self._treatment(item.tax_treatment),
        )

    def _work(self, job: WorkWanted) -> EstimateLine:
        steps = self.agreement.rounding_minutes if self.agreement else USUAL_ROUNDING_MINUTES
        hours = billed_hours(job.minutes, rounding_minutes=steps)
        quantity = (Decimal(hours.numerator) / Decimal(hours.denominator)).quantize(Decimal("0.00001"))
        price, why = self._hour_price()
        return EstimateLine(
            kind="labour",
            text=job.text,
            quantity=quantity,
            unit=HOUR,
            unit_price=price,
            amount=None if price is None else line_amount(quantity=quantity, unit_price=price, digits=self.digits),
            code=HOUR,
            why=why,
            tax_treatment=self._treatment(TaxTreatment.STANDARD),
        )

    def _hour_price(self) -> tuple[Decimal | None, str]:
        if self.agreement and self.agreement.hour_price is not None:
            return self.agreement.hour_price, f"agreed from {self.agreement.valid_from:%-d %B %Y}"
        item = price_on(HOUR, self.on, price_list=self.price_list) if self.price_list else None
        if item is None:
            return None, self._missing((HOUR,))
        if item.unit != Unit.HOUR:
            return None, f"its price is for one {item.get_unit_display()}, the list counts hours"
        return item.net_price, f"{item.text}, from {item.valid_from:%-d %B %Y}"

    def _without(self, good: Wanted, why: str) -> EstimateLine:
        return EstimateLine(
            kind="materials",
            text=good.text,
            quantity=good.quantity,
            unit=good.unit,
            unit_price=None,
            amount=None,
            code=good.codes[-1] if good.codes else "",
            why=why,
            tax_treatment=self._treatment(TaxTreatment.STANDARD),
        )

    def _missing(self, codes: Sequence[str]) -> str:
        if self.price_list is None:
            return "there is no price list yet"
        later = [item for code in codes if (item := first_price_of(code, price_list=self.price_list))]
        if later:
            begins = min(item.valid_from for item in later)
            return f"its price is in force from {begins:%-d %B %Y} only"
        return f"{self.price_list.name} has no price under {' or '.join(codes)}"

    def _treatment(self, listed: str) -> str:
        """A client's own tax treatment goes before that of the goods."""
        if self.agreement and self.agreement.tax_treatment != TaxTreatment.STANDARD:
            return self.agreement.tax_treatment
        return listed


def _unit(unit: str) -> str:
    return Unit(unit).label if unit in Unit.values else unit
