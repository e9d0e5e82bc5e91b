"""Set prices and rates from a day on. What was in force before stays to be read."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from business.models import LateInterestRate, PriceItem, PriceList, TaxRate
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked


@transaction.atomic
def set_tax_rate(*, treatment: str, valid_from: date, percent: Decimal, source: str = "") -> TaxRate:
    """The percentage from a day on; given again for the same day it is corrected.

    Raises:
        BadInput: not a percentage, or a treatment that bears no tax.
    """
    rate = TaxRate.objects.filter(treatment=treatment, valid_from=valid_from).first()
    rate = rate or TaxRate(treatment=treatment, valid_from=valid_from)
    put_values(rate, {"percent": percent, "source": source})
    save_checked(rate, where="tax rate")
    return rate


@transaction.atomic
def set_late_interest_rate(*, regime: str, valid_from: date, percent: Decimal, source: str) -> LateInterestRate:
    """The statutory rate of a half-year; given again for the same day it is corrected."""
    rate = LateInterestRate.objects.filter(regime=regime, valid_from=valid_from).first()
    rate = rate or LateInterestRate(regime=regime, valid_from=valid_from)
    put_values(rate, {"percent": percent, "source": source})
    save_checked(rate, where="late interest")
    return rate


@transaction.atomic
def save_price_list(*, price_list: PriceList | None = None, **values: Any) -> PriceList:
    """Store a list. The first one, and one said to be standard, becomes the standard one; there is never a second."""
    row = price_list or PriceList()
    put_values(row, values)
    others = PriceList.objects.exclude(pk=row.pk)
    if not others.filter(is_standard=True).exists():
        row.is_standard = True
    if row.is_standard:
        others.filter(is_standard=True).update(is_standard=False)
    save_checked(row, where="price list")
    return row


@transaction.atomic
def set_price(*, price_list: PriceList, code: str, valid_from: date, **values: Any) -> PriceItem:
    """A price from a day on; given again for the same day it is corrected. Words and unit follow the price before.

    Raises:
        BadInput: a value breaks a law of the table.
    """
    items = PriceItem.objects.filter(price_list=price_list, code=code)
    item = items.filter(valid_from=valid_from).first()
    if item is None:
        item = PriceItem(price_list=price_list, code=code, valid_from=valid_from)
        if before := items.filter(valid_from__lt=valid_from).order_by("-valid_from").first():
            put_values(
                item,
                {
                    name: getattr(before, name)
                    for name in ("text", "kind_of_work", "unit", "net_price", "tax_treatment")
                },
            )
    was = values_of(item) if item.pk else {}
    put_values(item, values)
    save_checked(item, where="price")
    act = "price corrected" if was else "price set"
    note(act, f"prices:{price_list.pk}", before=was, after=values_of(item), has_money=True)
    return item


@transaction.atomic
def set_late_rate(*, regime: str, valid_from: date, **values: Any) -> LateInterestRate:
    """The statutory rate on late payment from a day on; given again for the same day it is corrected.

    Raises:
        BadInput: a value breaks a law of the table.
    """
    row = LateInterestRate.objects.filter(regime=regime, valid_from=valid_from).first()
    row = row or LateInterestRate(regime=regime, valid_from=valid_from)
    was = values_of(row) if row.pk else {}
    put_values(row, values)
    save_checked(row, where="late interest")
    note("late interest rate set", "prices:late", before=was, after=values_of(row), has_money=True)
    return row
