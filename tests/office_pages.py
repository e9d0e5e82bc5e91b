"""Every page of the office with an address that leads somewhere: places are filled with rows of the book."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django.urls import URLResolver, get_resolver

from business.models import Charge, Client, Invoice, Message, PriceList, Quote, Staff
from gardens.models import Site, Support, Tree
from scheduling.models import Need, Round, Season, Visit

ROWS: dict[str, Any] = {
    "client_id": Client,
    "site_id": Site,
    "support_id": Support,
    "tree_id": Tree,
    "visit_id": Visit,
    "round_id": Round,
    "need_id": Need,
    "invoice_id": Invoice,
    "charge_id": Charge,
    "quote_id": Quote,
    "message_id": Message,
    "person_id": Staff,
    "price_list_id": PriceList,
}
WORDS = {"species_id": "apple_spur", "form_id": "horizontal_tiers"}
LEFT_OUT = re.compile(
    r"^(field-|garden-|service-worker|metrics|health|ready|sign-|link-|mail-stop)|pdf|paper|sheet|work-order|csv"
)
"""Other doors, watching, and papers: their weight is drawing, not the size of the book."""


def office_pages() -> Iterator[tuple[str, str]]:
    """(name, path) of every named page, each about the first row of its kind."""
    for name, route in sorted(_routes(get_resolver(), "/")):
        if not LEFT_OUT.search(name) and (path := _filled(route)) is not None:
            yield name, path


def _routes(resolver: URLResolver, prefix: str) -> Iterator[tuple[str, str]]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from _routes(entry, prefix + str(entry.pattern))
        elif entry.name:
            yield entry.name, prefix + str(entry.pattern)


def _filled(route: str) -> str | None:
    for kind, place in re.findall(r"<(?:(\w+):)?(\w+)>", route):
        if place == "year":
            value: object = Season.objects.order_by("-year").values_list("year", flat=True).first()
        elif place in WORDS:
            value = WORDS[place]
        elif place in ROWS:
            value = ROWS[place].objects.order_by("pk").values_list("pk", flat=True).first()
        else:
            value = None
        if value is None:
            return None
        route = route.replace(f"<{kind}:{place}>" if kind else f"<{place}>", str(value))
    return route
