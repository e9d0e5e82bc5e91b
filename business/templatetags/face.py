"""What pages need to say the same thing the same way: navigation, signs, days, money."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import wraps
from typing import Any

from django import template
from django.templatetags.static import static
from django.urls import NoReverseMatch, reverse
from django.utils.formats import date_format, number_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()

# ISO 4217: signs we know, and the currencies that do not have two decimals.
SIGNS = {"GBP": "£", "EUR": "€", "USD": "$", "JPY": "¥"}
DECIMALS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "KWD": 3, "BHD": 3, "TND": 3, "OMR": 3, "JOD": 3}
MINUS = "−"


@dataclass(frozen=True)
class Tab:
    url_name: str
    words: str
    doors: tuple[str, ...] = ("office",)
    also: tuple[str, ...] = ()
    """Further addresses that lie behind this tab."""


TABS = (
    Tab("today", "Today", ("office", "field")),
    Tab("field-today", "On the round", ("field",)),
    Tab("season", "Season"),
    Tab("rounds", "Rounds", ("office", "field"), also=("/visits/",)),
    Tab("sites", "Sites", also=("/stations/",)),
    Tab("trees", "Trees"),
    Tab("clients", "Clients", ("office", "books"), also=("/agreements/",)),
    Tab("invoices", "Invoices", ("office", "books"), also=("/charges/", "/prices/")),
    Tab("messages", "Messages", ("office", "books"), also=("/documents/",)),
    Tab("rules", "Rules"),
)


def door_of(user: Any) -> str:
    """office, field, books (the accountant) or none, by the role of whoever is signed in."""
    if not getattr(user, "is_authenticated", False):
        return "none"
    if getattr(user, "is_office", False):
        return "office"
    return "field" if getattr(user, "is_field", False) else "books"


@register.simple_tag
def home(user: Any) -> str:
    """Where the name of the business leads: an accountant has no page of today."""
    return (_address("invoices") if door_of(user) == "books" else "") or "/"


@register.inclusion_tag("business/_tabs.html", takes_context=True)
def tabs(context: dict[str, Any]) -> dict[str, Any]:
    """The index tabs of this person. A page that does not exist (yet) has no tab."""
    request = context.get("request")
    path = request.path if request else ""
    door = door_of(context.get("user"))
    found = [(tab, address) for tab in TABS if door in tab.doors and (address := _address(tab.url_name))]
    behind = {prefix: tab for tab, address in found for prefix in (address, *tab.also) if _is_inside(path, prefix)}
    open_tab = behind[max(behind, key=len)] if behind else None
    return {
        "tabs": [{"words": tab.words, "address": address, "is_open": tab is open_tab} for tab, address in found],
        "user": context.get("user"),
        "csrf_token": context.get("csrf_token"),
    }


def _address(url_name: str) -> str:
    try:
        return reverse(url_name)
    except NoReverseMatch:
        return ""


def _is_inside(path: str, address: str) -> bool:
    return path == address or (address != "/" and path.startswith(address.rstrip("/") + "/"))


@register.simple_tag
def shape(name: str, words: str = "") -> SafeString:
    """A sign from icons.svg. Give words only where none stand beside it."""
    address = f"{static('business/icons.svg')}#{name}"
    if words:
        return format_html('<svg class="shape" role="img" aria-label="{}"><use href="{}"/></svg>', words, address)
    return format_html('<svg class="shape" aria-hidden="true"><use href="{}"/></svg>', address)


def _or_dash(show: Callable[..., str]) -> Callable[..., str]:
    """No value reads as a dash, never as None."""

    @wraps(show)
    def shown(value: Any, *rest: Any) -> str:
        return "–" if value in (None, "") else show(value, *rest)

    return shown


@register.filter
@_or_dash
def day(value: date | datetime) -> str:
    """Tue 3 Mar 2026"""
    return date_format(value, "D j M Y")


@register.filter
@_or_dash
def short_day(value: date | datetime) -> str:
    """3 Mar"""
    return date_format(value, "j M")


@register.filter
@_or_dash
def day_in(value: date | datetime) -> str:
    """Tue 3 Mar: for lists that name the year once above."""
    return date_format(value, "D j M")


@register.filter
def until(first: date | None, last: date | None) -> str:
    """3–14 March 2026, 28 Feb – 3 Mar 2026, 20 Dec 2025 – 4 Jan 2026: ``{{ opens|until:closes }}``."""
    if first is None or last is None:
        return day(first if last is None else last)
    if first == last:
        return date_format(first, "j F Y")
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}–{date_format(last, 'j F Y')}"
    if first.year == last.year:
        return f"{date_format(first, 'j M')} – {date_format(last, 'j M Y')}"
    return f"{date_format(first, 'j M Y')} – {date_format(last, 'j M Y')}"


@register.filter
@_or_dash
def minutes(value: int | Decimal) -> str:
    """75 → 1 h 15, 40 → 40 min"""
    hours, rest = divmod(int(Decimal(value).quantize(Decimal(1), rounding=ROUND_HALF_UP)), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02}" if rest else f"{hours} h"


@register.filter
@_or_dash
def money(amount: Decimal | int, currency: str = "GBP") -> str:
    """£1,234.50; a currency without a sign of its own is named: 1,234.50 CHF."""
    value = Decimal(amount)
    digits = number_format(abs(value), DECIMALS.get(currency, 2), use_l10n=True, force_grouping=True)
    minus = MINUS if value < 0 else ""
    sign = SIGNS.get(currency)
    return f"{minus}{sign}{digits}" if sign else f"{minus}{digits} {currency}"
