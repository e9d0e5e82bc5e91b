"""What the next season would cost: the offer that lies on the table, else the agreement, else the price list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from business.documents.words import day_text, money_text
from business.errors import Refusal
from business.models import Client
from business.money.amounts import minor_digits
from business.money.pricing import Work, price_visit
from business.queries.clients import agreement_on
from business.queries.profile import our_profile
from business.services.billing import terms_on
from scheduling.queries.door import quotes_of


@dataclass(frozen=True, kw_only=True)
class YearAhead:
    """The work of a season as it is expected. ``minutes``: of all visits and people together. [min]"""

    on: date
    visits: int
    minutes: int
    trees: int


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A price in words. ``rows``: what it is made of."""

    total: str
    words: str
    rows: Sequence[tuple[str, str]] = ()


def proposal_for(client: Client, ahead: YearAhead, *, today: date) -> Proposal | None:
    """The price of the next season; None where nothing says what an hour costs."""
    offer = next((row for row in quotes_of(client) if row.state == "sent" and row.valid_until >= today), None)
    if offer is not None:
        words = f"Our offer {offer.number}, {offer.title}, valid until {day_text(offer.valid_until)}"
        return Proposal(total=money_text(offer.gross, offer.currency), words=words)
    try:
        return _by_terms(client, ahead)
    except Refusal:
        return None


def _by_terms(client: Client, ahead: YearAhead) -> Proposal | None:
    profile = our_profile()
    agreement = agreement_on(client, ahead.on)
    currency, digits = profile.currency, minor_digits(profile.currency)
    tax = f"with {profile.tax_label}" if profile.prices_include_tax else f"before {profile.tax_label}"
    tax = f", {tax}" if profile.is_tax_registered else ""
    if agreement is not None and agreement.basis == "season_fixed":
        price = agreement.season_price or Decimal(0)
        words = f"As agreed, for the whole season{tax}"
        if agreement.instalments > 1:
            words += f", in {agreement.instalments} instalments"
        return Proposal(total=money_text(price, currency), words=words)
    visits = max(1, ahead.visits)
    work = Work(person_minutes=round(ahead.minutes / visits), trees=ahead.trees)
    lines = price_visit(terms_on(agreement, ahead.on), work, digits=digits)
    rows = [(f"{visits} × {line.text.lower()}", money_text(line.amount * visits, currency)) for line in lines]
    total = sum((line.amount for line in lines), Decimal(0)) * visits
    if not total:
        return None
    basis = "by our agreement" if agreement else "by our price list"
    return Proposal(
        total=f"about {money_text(total, currency)}", words=f"Reckoned {basis}{tax}; materials apart", rows=rows
    )
