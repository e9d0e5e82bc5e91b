"""Quantities, prices and rates on pages, as papers write them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import template

from business.documents.words import money_text, percent_text, quantity_text

register = template.Library()


@register.filter
def how_much(line: Any) -> str:
    """3 h 10 min, 12 trees; nothing for a lump sum."""
    return quantity_text(line.quantity, line.unit)


@register.filter
def price(amount: Decimal, currency: str) -> str:
    """Like money, but a price finer than a penny keeps its digits."""
    return money_text(amount, currency)


@register.filter
def percent(rate: Decimal) -> str:
    """20%, 12.5%"""
    return percent_text(rate)
