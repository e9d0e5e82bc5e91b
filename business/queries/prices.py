"""Prices and tax rates as they stand on a day."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery

from business.errors import BadInput, Fault
from business.models import LateInterestRate, PriceItem, PriceList, TaxRate, TaxTreatment
from business.money.interest import InterestRate
from business.queries.profile import our_profile

TAXED = (TaxTreatment.STANDARD, TaxTreatment.REDUCED)


def standard_price_list() -> PriceList | None:
    return PriceList.objects.filter(is_standard=True).first()


def prices_on(price_list: PriceList, on: date) -> QuerySet[PriceItem]:
    """The price of every code of a list in force on a day."""
    newest = (
        PriceItem.objects.filter(price_list=price_list, code=OuterRef("code"), valid_from__lte=on)
        .order_by("-valid_from")
        .values("pk")[:1]
    )
    return PriceItem.objects.filter(price_list=price_list, pk__in=Subquery(newest)).order_by("text")


def price_on(code: str, on: date, *, price_list: PriceList | None = None) -> PriceItem | None:
    """The price of one thing on a day, from the list given or the standard one; None where there is none."""
    price_list = price_list or standard_price_list()
    if price_list is None:
        return None
    items = PriceItem.objects.filter(price_list=price_list, code=code, valid_from__lte=on)
    return items.order_by("-valid_from").first()


def price_of_good(*, code: str, name: str, on: date, price_list: PriceList | None = None) -> PriceItem | None:
    """The price of a material by its code, else by its name; None where the list knows neither.

    A code is written with - or _ alike. The list given comes before the standard one.
    """
    for rows in dict.fromkeys((price_list, standard_price_list())):
        if rows is None:
            continue
        for known in dict.fromkeys((code, code.replace("_", "-"))):
            if known and (item := price_on(known, on, price_list=rows)) is not None:
                return item
        named = PriceItem.objects.filter(price_list=rows, text__iexact=name.strip(), valid_from__lte=on)
        if name.strip() and (item := named.order_by("-valid_from").first()) is not None:
            return item
    return None


def first_price_of(code: str, *, price_list: PriceList) -> PriceItem | None:
    """The earliest price of a thing, in force yet or not."""
    return PriceItem.objects.filter(price_list=price_list, code=code).order_by("valid_from").first()


def price_history(price_list: PriceList) -> QuerySet[PriceItem]:
    return PriceItem.objects.filter(price_list=price_list).order_by("text", "code", "-valid_from")


def tax_percent_on(treatment: str, on: date) -> Decimal:
    """The percentage of a treatment on a day; 0 where the treatment bears no tax or the business charges none.

    Raises:
        BadInput: the treatment is taxed, and no rate is known for the day.
    """
    if treatment not in TAXED or not our_profile().is_tax_registered:
        return Decimal(0)
    rate = TaxRate.objects.filter(treatment=treatment, valid_from__lte=on).order_by("-valid_from").first()
    if rate is None:
        name = TaxTreatment(treatment).label.lower()
        raise BadInput([Fault("tax rates", f"no {name} is known for {on}", "enter it under Prices, Tax rates")])
    return rate.percent


def tax_rates() -> QuerySet[TaxRate]:
    return TaxRate.objects.order_by("treatment", "-valid_from")


def late_interest_rates(regime: str) -> list[InterestRate]:
    """The rows as the money core wants them."""
    return [
        InterestRate(valid_from=row.valid_from, percent=row.percent, source=row.source)
        for row in LateInterestRate.objects.filter(regime=regime)
    ]


def late_rate_rows() -> QuerySet[LateInterestRate]:
    return LateInterestRate.objects.order_by("regime", "-valid_from")
