"""A statement of account in words, for page and paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.template.loader import render_to_string

from business.documents.pdf import ACCESSIBLE, render
from business.documents.words import day_text, days_text, money_text
from business.models import Client
from business.money.statements import Statement
from business.queries.parties import buyer_of, seller_of
from business.queries.profile import our_profile

AGE_WORDS = ("Not due yet", "1–30 days late", "31–60 days late", "61–90 days late", "more than 90 days late")


@dataclass(frozen=True, kw_only=True)
class StatementLine:
    """One movement. Exactly one of the two amounts is written."""

    day: str
    text: str
    charged: str
    settled: str
    balance: str


@dataclass(frozen=True, kw_only=True)
class OpenLine:
    text: str
    day: str
    due: str
    age: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class StatementPaper:
    """All words of a statement, in order of the page."""

    period: str
    opening_day: str
    closing_day: str
    opening: str
    lines: Sequence[StatementLine]
    closing: str
    closing_words: str
    open_lines: Sequence[OpenLine]
    ages: Sequence[tuple[str, str]]
    in_advance: str
    currency: str


def statement_paper(found: Statement, currency: str) -> StatementPaper:
    return StatementPaper(
        period=days_text(found.since, found.until),
        opening_day=day_text(found.since),
        closing_day=day_text(found.until),
        opening=money_text(found.opening, currency),
        lines=[
            StatementLine(
                day=day_text(row.entry.on),
                text=row.entry.text,
                charged=money_text(row.entry.amount, currency) if row.entry.signed > 0 else "",
                settled=money_text(row.entry.amount, currency) if row.entry.signed < 0 else "",
                balance=money_text(row.balance, currency),
            )
            for row in found.rows
        ],
        closing=money_text(abs(found.closing), currency),
        closing_words=_closing_words(found),
        open_lines=[
            OpenLine(
                text=item.text,
                day=day_text(item.on),
                due=day_text(item.due_on),
                age=f"{item.days_late} day{'s' if item.days_late > 1 else ''} late"
                if item.days_late > 0
                else "not due yet",
                amount=money_text(item.open_amount, currency),
            )
            for item in found.open_items
        ],
        ages=[(words, money_text(amount, currency)) for words, amount in zip(AGE_WORDS, found.by_age, strict=True)],
        in_advance=money_text(found.in_advance, currency) if found.in_advance else "",
        currency=currency,
    )


def statement_pdf(client: Client, found: Statement, currency: str) -> bytes:
    """The paper as tagged PDF bytes, on the client's size of paper."""
    html = statement_html(client, found, currency)
    return render(html, paper=client.paper or our_profile().paper, variant=ACCESSIBLE)


def statement_html(client: Client, found: Statement, currency: str) -> str:
    profile = our_profile()
    paper = statement_paper(found, currency)
    facts = [("Date", paper.closing_day), ("Client number", client.code), ("Amounts in", currency)]
    context = {"paper": paper, "seller": seller_of(profile), "buyer": buyer_of(client, profile), "facts": facts}
    return render_to_string("business/documents/statement.html", context)


def _closing_words(found: Statement) -> str:
    if found.closing > 0:
        return "To be paid"
    return "In your favour" if found.closing < 0 else "All is settled"
