"""Amounts, quantities and days as papers write them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.utils.formats import date_format, number_format

from business.money.amounts import minor_digits, rounded

SIGNS = {"GBP": "£", "EUR": "€", "USD": "$", "JPY": "¥"}
MINUS = "−"

UNIT_WORDS = {
    "hour": ("hour", "hours"),
    "day": ("day", "days"),
    "visit": ("visit", "visits"),
    "tree": ("tree", "trees"),
    "piece": ("piece", "pieces"),
    "metre": ("m", "m"),
    "kilometre": ("km", "km"),
    "kilogram": ("kg", "kg"),
    "litre": ("l", "l"),
    "load": ("load", "loads"),
}


def money_text(amount: Decimal, currency: str) -> str:
    """£1,234.50, −£3.00, 1,234.50 CHF. A price finer than the currency's smallest unit keeps its digits."""
    digits = minor_digits(currency)
    if amount != rounded(amount, digits):
        digits = max(digits, -int(amount.normalize().as_tuple().exponent))
    number = number_format(rounded(abs(amount), min(digits, 6)), digits, use_l10n=True, force_grouping=True)
    minus = MINUS if amount < 0 else ""
    sign = SIGNS.get(currency)
    return f"{minus}{sign}{number}" if sign else f"{minus}{number} {currency}"


def quantity_text(quantity: Decimal, unit: str) -> str:
    """3 h 10 min, 12 trees, 4.5 m; nothing for a lump sum."""
    if unit == "lump":
        return ""
    if unit == "hour":
        return hours_text(quantity)
    one, many = UNIT_WORDS[unit]
    return f"{number_text(quantity)} {one if quantity == 1 else many}"


def hours_text(hours: Decimal) -> str:
    """3.16667 hours are 3 h 10 min."""
    whole, minutes = divmod(int(rounded(hours * 60, 0)), 60)
    if not minutes:
        return f"{whole} h"
    return f"{whole} h {minutes} min" if whole else f"{minutes} min"


def number_text(number: Decimal) -> str:
    """Without zeros that say nothing: 4.50000 is 4.5."""
    plain = number.normalize()
    return number_format(plain, max(0, -int(plain.as_tuple().exponent)), use_l10n=True, force_grouping=True)


def percent_text(percent: Decimal) -> str:
    return f"{number_text(percent)}%"


def day_text(day: date) -> str:
    """3 March 2026"""
    return date_format(day, "j F Y")


def days_text(first: date, last: date) -> str:
    """3–14 March 2026; one day is written once."""
    if first == last:
        return day_text(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}–{day_text(last)}"
    if first.year == last.year:
        return f"{date_format(first, 'j F')} – {day_text(last)}"
    return f"{day_text(first)} – {day_text(last)}"
