"""Journal, open items and tax summary agree with the papers, the accounts and each other."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from business.documents.books import journal_table, open_items_table, tax_table
from business.documents.tables import csv_text
from business.errors import Refusal
from business.models import Invoice
from business.money.journal import AccountKey, balances
from business.queries.clients import balance_of
from business.queries.ledger import bookings, open_items
from business.services.invoices import credit_invoice
from business.services.ledger import add_account
from business.services.payments import ask_again, give_up, refund, use_balance
from tests import make

YEAR = (date(2026, 1, 1), date(2026, 12, 31))
START = date(2026, 3, 1)


def cents(cell):
    return Decimal(cell or 0)


def sums_of(table, column, by=None):
    sums = defaultdict(Decimal)
    for row in table.as_dicts():
        sums[row[by] if by else ""] += cents(row[column])
    return dict(sums)


acts = st.lists(
    st.tuples(
        st.sampled_from(["issue", "credit", "part credit", "pay", "overpay", "put", "refund", "give up", "ask again"]),
        st.decimals("0.01", "300", places=2),
        st.integers(0, 9),
    ),
    min_size=3,
    max_size=14,
)


def happen(client, act, amount, days, step):
    """One thing that may happen to a client's money; what the house refuses simply does not happen."""
    day = START + timedelta(days=step * 7 + days)
    invoice = client.invoices.filter(kind="invoice").exclude(state="draft").order_by("-pk").first()
    try:
        if act == "issue" or invoice is None:
            make.charge(client=client, unit_price=amount, tax_treatment="zero", done_on=START)
            make.invoice(client=client, amounts=(str(amount),), issued_on=START + timedelta(days=step * 7))
        elif act == "credit":
            credit_invoice(invoice=invoice, reason="x", credited_on=day)
        elif act == "part credit":
            line = invoice.lines.first()
            credit_invoice(invoice=invoice, reason="x", amounts={line.pk: min(amount, line.net)}, credited_on=day)
        elif act in ("pay", "overpay"):
            paid = amount if act == "pay" else invoice.gross + amount
            make.payment(client=client, invoice=invoice, amount=paid, received_on=day, method="cash")
        elif act == "put":
            use_balance(client=client, booked_on=day)
        elif act == "refund":
            free = balance_of(client, currency="GBP")
            refund(client=client, paid_on=day, amount=min(amount, free), key=f"refund:{make.next_number()}")
        elif act == "give up":
            give_up(invoice=invoice, reason="Gone", key=f"up:{make.next_number()}", on=day)
        else:
            ask_again(invoice=invoice, reason="Found")
    except Refusal:
        pass


class AnySequenceOfActs(TestCase):
    @settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(acts)
    def test_balances_and_agrees_with_what_is_open(self, acts):
        make.profile()
        client = make.client()
        for step, (act, amount, days) in enumerate(acts):
            happen(client, act, amount, days, step)
        last = date(2026, 12, 31)

        journal = journal_table(first=YEAR[0], last=last)
        assert sums_of(journal, "debit", "booking") == sums_of(journal, "credit", "booking")
        accounts = balances(bookings(first=None, last=last))
        items = open_items(on=last)
        owed = sum((item.open for item in items if item.kind == "invoice"), Decimal(0))
        free = sum((item.open for item in items if item.kind == "client_credit"), Decimal(0))
        assert accounts.get(("GBP", AccountKey("receivables")), 0) == owed
        assert accounts.get(("GBP", AccountKey("client_credit")), 0) == free
        assert owed == sum((invoice.open_amount for invoice in client.invoices.all()), Decimal(0))
        assert -free == balance_of(client, currency="GBP")


@pytest.fixture
def a_year(db):
    make.profile()
    make.tax_rate(treatment="reduced", percent=Decimal(5))
    first = make.invoice(amounts=("100.00", "33.33"), issued_on=date(2026, 2, 1))
    second = make.invoice(amounts=("80.00",), tax_treatment="reduced", issued_on=date(2026, 3, 1))
    make.payment(invoice=first, amount=Decimal(200), received_on=date(2026, 3, 10))
    credit_invoice(
        invoice=second, reason="Half", amounts={second.lines.get().pk: Decimal(40)}, credited_on=date(2026, 4, 1)
    )
    return first, second


def test_the_tax_summary_equals_the_papers(a_year):
    table = tax_table(first=YEAR[0], last=YEAR[1])

    invoiced = Invoice.objects.filter(kind="invoice").aggregate(n=Sum("net"), t=Sum("tax"))
    credited = Invoice.objects.filter(kind="credit_note").aggregate(n=Sum("net"), t=Sum("tax"))
    assert sums_of(table, "net")[""] == invoiced["n"] - credited["n"]
    assert sums_of(table, "tax")[""] == invoiced["t"] - credited["t"]
    assert [(row["tax_percent"], row["net"], row["tax"]) for row in table.as_dicts()] == [
        (Decimal(20), Decimal("133.33"), Decimal("26.67")),
        (Decimal(5), Decimal("40.00"), Decimal("2.00")),
    ]


def test_the_journal_s_tax_account_equals_the_tax_summary(a_year):
    journal = journal_table(first=YEAR[0], last=YEAR[1])
    tax = sum(cents(row["credit"]) - cents(row["debit"]) for row in journal.as_dicts() if "tax" in row["account"])

    assert tax == sums_of(tax_table(first=YEAR[0], last=YEAR[1]), "tax")[""]


def test_open_items_are_those_of_the_day_asked_for(a_year):
    def opened(on):
        return [(row["document"], row["open"]) for row in open_items_table(on=on).as_dicts()]

    assert opened(date(2026, 1, 31)) == []
    assert opened(date(2026, 2, 28)) == [("2026-00001", Decimal("160.00"))]
    after = dict(opened(date(2026, 3, 31)))
    assert after.pop("2026-00002") == Decimal("84.00")
    assert list(after.values()) == [Decimal("-40.00")]
    assert dict(opened(date(2026, 4, 1)))["2026-00002"] == Decimal("42.00")


def test_a_chosen_account_takes_the_place_of_words(a_year):
    add_account(role="revenue", percent=Decimal(20), number="4020", name="Revenue 20 %")
    add_account(role="money", method="bank", number="1200", name="Bank")

    used = {row["account"] for row in journal_table(first=YEAR[0], last=YEAR[1]).as_dicts()}

    assert {"4020", "1200", "revenue-5", "receivables", "client-credit"} <= used


@pytest.mark.django_db
def test_a_name_that_is_a_formula_is_kept_from_running():
    make.profile()
    make.invoice(client=make.client(name='=HYPERLINK("http://example.com")'))
    table = open_items_table(on=date(2026, 5, 1))

    (_, row) = list(csv.reader(io.StringIO(csv_text(table.heads, table.rows))))

    assert row[1].startswith("'=HYPERLINK")
    assert row[-2] == "120.00"
