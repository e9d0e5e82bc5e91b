"""What moved on a client's account."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from business.models import Allocation, Client, Invoice, Payment
from business.money.statements import Entry, Kind, Settling, Statement, state
from business.queries.profile import our_profile

PAID_WORDS = {"bank": "Bank transfer", "card": "Card", "cash": "Cash", "cheque": "Cheque", "other": "Payment"}


def currencies_of(client: Client) -> list[str]:
    """The currencies a client was ever billed or paid in, ours first."""
    papers = Invoice.objects.filter(client=client).exclude(state="draft").values_list("currency", flat=True)
    money = Payment.objects.filter(client=client).values_list("currency", flat=True)
    ours = our_profile().currency
    return [ours, *sorted({*papers, *money} - {ours})]


def statement_of(client: Client, *, currency: str, since: date, until: date) -> Statement:
    """One client's account in one currency; papers and money in others never enter."""
    papers = list(
        Invoice.objects.filter(client=client, currency=currency).exclude(state="draft").select_related("credits")
    )
    allocations = list(
        Allocation.objects.filter(invoice__client=client, invoice__currency=currency).select_related(
            "payment", "invoice"
        )
    )
    money = Payment.objects.filter(client=client, currency=currency).exclude(kind="given_up")
    entries = [_of_paper(paper) for paper in papers] + [_of_money(payment) for payment in money]
    entries += [_given_up(row) for row in allocations if row.payment.kind == "given_up"]
    settlings = [Settling(invoice=row.invoice_id or 0, on=_day(row), amount=row.amount) for row in allocations]
    settlings += [
        Settling(invoice=paper.credits_id, on=paper.issued_on, amount=paper.gross)
        for paper in papers
        if paper.credits_id and paper.issued_on
    ]
    return state(entries, settlings, since=since, until=until)


def _of_paper(paper: Invoice) -> Entry:
    assert paper.issued_on is not None  # noqa: S101 - drafts are left out
    is_credit = paper.kind == Invoice.Kind.CREDIT_NOTE
    about = f" for {paper.credits.number}" if paper.credits else ""
    return Entry(
        on=paper.issued_on,
        kind="credit_note" if is_credit else "invoice",
        text=f"Credit note {paper.number}{about}" if is_credit else f"Invoice {paper.number}",
        amount=paper.gross,
        key=paper.pk,
        due_on=None if is_credit else paper.due_on,
    )


def _of_money(payment: Payment) -> Entry:
    is_refund = payment.kind == Payment.Kind.REFUND
    words = "Paid back to you" if is_refund else f"{PAID_WORDS[payment.method]}, thank you"
    reference = f" ({payment.reference})" if payment.reference else ""
    return Entry(
        on=payment.received_on,
        kind="refund" if is_refund else "payment",
        text=f"{words}{reference}",
        amount=payment.amount,
        key=payment.pk,
    )


def _given_up(row: Allocation) -> Entry:
    kind: Kind = "given_up" if row.amount > 0 else "asked_again"
    number = row.invoice.number if row.invoice else ""
    words = "No longer asked for" if row.amount > 0 else "Asked for again"
    return Entry(on=_day(row), kind=kind, text=f"{words}: invoice {number}", amount=abs(row.amount), key=row.pk)


def _day(row: Allocation) -> date:
    """From when a part counts: its booked day; for older rows the day of the money, never before the invoice."""
    if row.booked_on is not None:
        return row.booked_on
    issued_on = row.invoice.issued_on if row.invoice else None
    return max(row.payment.received_on, issued_on or row.payment.received_on)


def balance_today(client: Client, *, currency: str, on: date) -> Decimal:
    """What a client owes on a day; below zero where we owe them."""
    return statement_of(client, currency=currency, since=on, until=on).closing
