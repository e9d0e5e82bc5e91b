"""A payment reminder on paper: what is open since when, what may be claimed on top and how it was reckoned."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.template.loader import render_to_string

from business.documents.pdf import ACCESSIBLE, render
from business.documents.words import day_text, money_text, number_text, percent_text
from business.models import Invoice, PaymentReminder
from business.money.amounts import rounded
from business.money.late_claims import LateClaim
from business.queries.late_money import interest_on
from business.queries.parties import buyer_of, seller_of
from business.queries.profile import our_profile

READING_WORDS = {
    "uk": "Late Payment of Commercial Debts (Interest) Act 1998: the Bank of England base rate of the half-year in "
    "which the debt became late, and 8 points on top.",
    "eu_payment_day": "Directive 2011/7/EU: the reference rate in force on the day of payment, and 8 points on top.",
    "eu_half_years": "Directive 2011/7/EU: the reference rate of each half-year, and 8 points on top.",
}
FORMULA = "amount × rate ÷ 100 × days ÷ 365, rounded once at the end"


@dataclass(frozen=True, kw_only=True)
class InterestRow:
    """One period of the reckoning in words."""

    piece: str
    days: str
    percent: str
    amount: str
    source: str


def interest_rows(claim: LateClaim, currency: str) -> list[InterestRow]:
    """The reckoning as a table; single rows are shown to the tenth of a penny, the sum is rounded once."""
    return [
        InterestRow(
            piece=f"{money_text(period.piece, currency)}{', paid ' + day_text(period.until) if period.is_paid else ''}",
            days=f"{day_text(period.after)} to {day_text(period.until)}, {period.days} days",
            percent=percent_text(period.percent),
            amount=number_text(rounded(period.exact, 3)),
            source=period.source,
        )
        for period in claim.periods
    ]


def reminder_pdf(reminder: PaymentReminder) -> bytes:
    """The paper as tagged PDF bytes, on the client's size of paper."""
    client = reminder.invoice.client
    return render(reminder_html(reminder), paper=client.paper or our_profile().paper, variant=ACCESSIBLE)


def reminder_html(reminder: PaymentReminder) -> str:
    invoice, profile = reminder.invoice, our_profile()
    seller = seller_of(profile)
    claim = interest_on(invoice, on=reminder.made_on, profile=profile).claim if reminder.interest else None
    return render_to_string(
        "business/documents/payment_reminder.html",
        {
            "reminder": reminder,
            "invoice": invoice,
            "seller": seller,
            "buyer": buyer_of(invoice.client, profile),
            "facts": _facts(reminder),
            "paragraphs": filled(reminder.text, invoice, reminder).split("\n"),
            "sums": _sums(reminder),
            "asked": money_text(reminder.asked, invoice.currency),
            "rows": interest_rows(claim, invoice.currency) if claim else (),
            "law": READING_WORDS[claim.reading] if claim else "",
            "formula": FORMULA,
        },
    )


def filled(text: str, invoice: Invoice, reminder: PaymentReminder) -> str:
    """The text of a step with the invoice's own facts. Marks it does not know stay as they are."""
    facts = {
        "number": invoice.number,
        "due": day_text(invoice.due_on) if invoice.due_on else "",
        "open": money_text(reminder.open_amount, invoice.currency),
        "days": str(reminder.days_late),
        "fee": money_text(reminder.fee, invoice.currency),
    }
    return re.sub(r"\{(\w+)\}", lambda mark: facts.get(mark[1], mark[0]), text)


def _facts(reminder: PaymentReminder) -> list[tuple[str, str]]:
    invoice = reminder.invoice
    facts = [("Date", day_text(reminder.made_on)), ("Invoice", invoice.number)]
    if invoice.issued_on and invoice.due_on:
        facts += [("of", day_text(invoice.issued_on)), ("due on", day_text(invoice.due_on))]
    return [*facts, ("Client number", invoice.client.code)]


def _sums(reminder: PaymentReminder) -> Sequence[tuple[str, str]]:
    invoice, currency = reminder.invoice, reminder.invoice.currency
    rows = [(f"Invoice {invoice.number}", money_text(invoice.gross, currency))]
    paid = invoice.gross - reminder.open_amount
    if paid:
        rows.append(("paid or credited so far", money_text(-paid, currency)))
    rows.append(("Still open", money_text(reminder.open_amount, currency)))
    if reminder.fee:
        rows.append(("Fee of this reminder", money_text(reminder.fee, currency)))
    if reminder.interest:
        rows.append((f"Late interest until {day_text(reminder.made_on)}", money_text(reminder.interest, currency)))
    if reminder.fixed_sum:
        rows.append(("Fixed sum for late payment", money_text(reminder.fixed_sum, currency)))
    return rows
