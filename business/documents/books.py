"""The accountant's tables: journal, open items, tax summary."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from business.documents.tables import Table
from business.money.amounts import minor_digits
from business.money.journal import account_for
from business.queries.ledger import bookings, chosen_accounts, open_items, tax_summary


def journal_table(*, first: date, last: date) -> Table:
    """Every posting of some days, debit and credit in columns of their own; both columns have the same sum."""
    accounts = chosen_accounts()
    rows = []
    for number, booking in enumerate(bookings(first=first, last=last), start=1):
        for posting in booking.postings:
            account, name = account_for(posting.key, accounts)
            amount = _amount(abs(posting.amount), booking.currency)
            rows.append(
                (
                    number,
                    booking.day,
                    booking.document,
                    booking.text,
                    booking.client,
                    account,
                    name,
                    amount if posting.amount > 0 else "",
                    amount if posting.amount < 0 else "",
                    booking.currency,
                    posting.key.treatment,
                    "" if posting.key.rate_percent is None else _percent(posting.key.rate_percent),
                )
            )
    return Table(name=f"journal-{first}-{last}", heads=JOURNAL_HEADS, rows=rows)


JOURNAL_HEADS = (
    "booking",
    "date",
    "document",
    "text",
    "client",
    "account",
    "account_name",
    "debit",
    "credit",
    "currency",
    "tax_treatment",
    "tax_percent",
)


def open_items_table(*, on: date) -> Table:
    """What clients owed at the end of a day; what they had paid too much stands below zero."""
    rows = [
        (
            item.client_code,
            item.client_name,
            item.kind,
            item.number,
            item.day,
            item.due_on or "",
            item.days_late(on),
            _amount(item.amount, item.currency),
            _amount(item.settled, item.currency),
            _amount(item.open, item.currency),
            item.currency,
        )
        for item in open_items(on=on)
    ]
    heads = ("client", "client_name", "kind", "document", "date", "due_on", "days_late", "amount", "settled", "open")
    return Table(name=f"open-items-{on}", heads=(*heads, "currency"), rows=rows)


def tax_table(*, first: date, last: date) -> Table:
    """Net and tax by treatment and rate. The sums equal those of the papers issued in these days."""
    rows = [
        (
            row.currency,
            row.treatment,
            _percent(row.rate_percent),
            row.papers,
            *(
                _amount(amount, row.currency)
                for amount in (
                    row.invoiced_net,
                    row.invoiced_tax,
                    row.credited_net,
                    row.credited_tax,
                    row.net,
                    row.tax,
                    row.net + row.tax,
                )
            ),
        )
        for row in tax_summary(first=first, last=last)
    ]
    return Table(
        name=f"tax-{first}-{last}",
        heads=(
            "currency",
            "tax_treatment",
            "tax_percent",
            "papers",
            "invoiced_net",
            "invoiced_tax",
            "credited_net",
            "credited_tax",
            "net",
            "tax",
            "gross",
        ),
        rows=rows,
    )


def _amount(amount: Decimal, currency: str) -> Decimal:
    """With the digits of its currency; a number, so that no program takes it for a text."""
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency)))


def _percent(percent: Decimal) -> Decimal:
    plain = percent.normalize()
    return plain if plain.as_tuple().exponent == 0 or plain % 1 else plain.quantize(Decimal(1))
