"""Builders of valid rows. A test names only what it is about; everything else is filled in.

Rows of a later room stand further down, each after a heading of its own.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from business.models import (
    Agreement,
    BusinessProfile,
    Charge,
    Client,
    Contact,
    Invoice,
    Message,
    Payment,
    PriceItem,
    PriceList,
    Quote,
    Staff,
    TaxRate,
)

_numbers = count(1)


def next_number() -> int:
    """Differs at every call, for columns that must be unique."""
    return next(_numbers)


# Business. Invented people; telephone numbers of the range kept free for drama (Ofcom), mail at example.com.


def profile(**values: Any) -> BusinessProfile:
    """The business, registered for tax at 20 % since 2011 unless told otherwise."""
    from business.services.profile import save_profile

    given = {
        "name": "Hollis & Daughter",
        "legal_name": "Hollis & Daughter Ltd",
        "address": "The Bothy\nHigh Lane\nThornbury Magna\nBS99 1ZZ",
        "country": "GB",
        "currency": "GBP",
        "email": "office@hollis.example.com",
        "phone": "01632 960111",
        "tax_number": "GB 999 9999 73",
        "payment_lines": "Bank: Example Bank\nAccount 01234567, sort code 00-00-00",
        **values,
    }
    stored = save_profile(**given)
    if stored.is_tax_registered and not TaxRate.objects.filter(treatment="standard").exists():
        tax_rate()
    return stored


def tax_rate(**values: Any) -> TaxRate:
    from business.services.prices import set_tax_rate

    given = {
        "treatment": "standard",
        "valid_from": date(2011, 1, 4),
        "percent": Decimal(20),
        "source": "HMRC",
        **values,
    }
    return set_tax_rate(**given)


def staff(**values: Any) -> Staff:
    from business.services.staff import add_staff

    number = next_number()
    given = {"username": f"person{number}", "name": f"Person {number}", "role": "office", **values}
    return add_staff(**given)


def client(**values: Any) -> Client:
    from business.services.clients import save_client

    number = next_number()
    given = {
        "code": f"T-{number:04}",
        "name": f"Client {number}",
        "address": f"{number} Mill Street\nLower Wallop\nXX1 2YY",
        "email": f"client{number}@example.com",
        **values,
    }
    return save_client(**given)


def contact(**values: Any) -> Contact:
    given = {"client": values.pop("client", None) or client(), "name": f"Contact {next_number()}", **values}
    return Contact.objects.create(**given)


def price_list(**values: Any) -> PriceList:
    from business.services.prices import save_price_list

    return save_price_list(**{"name": f"Prices {next_number()}", **values})


def price(**values: Any) -> PriceItem:
    """A price of the standard list; ``code`` and ``net_price`` are usually what a test is about."""
    from business.queries.prices import standard_price_list
    from business.services.prices import set_price

    given = {
        "price_list": values.pop("price_list", None) or standard_price_list() or price_list(),
        "code": "hour",
        "text": "Hour of work",
        "unit": "hour",
        "net_price": Decimal(36),
        "valid_from": date(2020, 1, 1),
        **values,
    }
    return set_price(**given)


def agreement(**values: Any) -> Agreement:
    from business.services.agreements import save_agreement

    given = {
        "client": values.pop("client", None) or client(),
        "valid_from": date(2026, 1, 1),
        "basis": "by_hour",
        "hour_price": Decimal(36),
        **values,
    }
    return save_agreement(**given)


def charge(**values: Any) -> Charge:
    from business.services.billing import charge as charge_once

    number = next_number()
    given = {
        "client": values.pop("client", None) or client(),
        "done_on": date(2026, 3, 12),
        "text": "Winter pruning",
        "unit_price": Decimal(100),
        "reference": f"test:{number}",
        **values,
    }
    return charge_once(**given)


def draft(*, amounts: tuple[str, ...] = ("100.00",), **values: Any) -> Invoice:
    """A draft with one charge for each amount."""
    from business.services.drafts import draft_invoices

    owner = values.pop("client", None) or client()
    for amount in amounts:
        charge(client=owner, unit_price=Decimal(amount), **values)
    (made,) = draft_invoices(until=date(2030, 1, 1), clients=[owner.pk])
    return made


def invoice(*, amounts: tuple[str, ...] = ("100.00",), issued_on: date = date(2026, 4, 1), **values: Any) -> Invoice:
    """An issued invoice with one line for each amount."""
    from business.services.invoices import issue_invoice

    if not BusinessProfile.objects.exists():
        profile()
    return issue_invoice(invoice=draft(amounts=amounts, **values), issued_on=issued_on)


def payment(**values: Any) -> Payment:
    from business.services.payments import record_payment

    paid = values.get("invoice")
    given = {
        "client": values.pop("client", None) or (paid.client if paid else client()),
        "received_on": date(2026, 4, 20),
        "amount": Decimal(50),
        "key": f"test:{next_number()}",
        **values,
    }
    return record_payment(**given)


def quote(**values: Any) -> Quote:
    """A drafted offer with one line."""
    from business.services.quotes import Offered, draft_quote

    given = {
        "client": values.pop("client", None) or client(),
        "title": "Espalier of six pears",
        "lines": [Offered(text="Posts, wires and planting", unit_price=Decimal(480))],
        **values,
    }
    return draft_quote(**given)


def message(**values: Any) -> Message:
    from business.services.messages import queue_message

    number = next_number()
    given = {
        "key": f"test:{number}",
        "kind": "reminder",
        "to": f"reader{number}@example.com",
        "subject": "We come on Tuesday",
        "body": "Dear reader,\n\nwe come on Tuesday.\n",
        **values,
    }
    return queue_message(**given)
