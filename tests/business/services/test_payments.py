"""Money in, money put to invoices, money given back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from business.errors import BadInput
from business.models import Allocation, Invoice, Payment
from business.queries.clients import balance_of
from business.services.invoices import credit_invoice
from business.services.payments import record_payment, refund, use_balance
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile(tax_number="")


@pytest.fixture
def client_with_two():
    """A client who owes 100 since April and 50 since May."""
    client = make.client()
    make.invoice(client=client, amounts=("100",), issued_on=date(2026, 4, 1))
    make.invoice(client=client, amounts=("50",), issued_on=date(2026, 5, 1))
    return client


def open_amounts(client):
    return [invoice.open_amount for invoice in Invoice.objects.filter(client=client).order_by("issued_on")]


def test_money_goes_to_the_invoice_due_first(client_with_two):
    make.payment(client=client_with_two, amount=Decimal(120))

    assert open_amounts(client_with_two) == [0, 30]


def test_a_named_invoice_comes_before_the_oldest(client_with_two):
    newest = Invoice.objects.get(issued_on=date(2026, 5, 1))

    make.payment(invoice=newest, amount=Decimal(60))

    assert open_amounts(client_with_two) == [90, 0]


def test_too_much_becomes_the_client_s_balance(client_with_two):
    payment = make.payment(client=client_with_two, amount=Decimal("200.50"))

    assert open_amounts(client_with_two) == [0, 0]
    assert (payment.free_amount, balance_of(client_with_two, currency="GBP")) == (Decimal("50.50"), Decimal("50.50"))


def test_the_same_key_is_one_payment(client_with_two):
    values = {"client": client_with_two, "received_on": date(2026, 5, 2), "amount": Decimal(40), "key": "bank:8841"}

    assert record_payment(**values) == record_payment(**values)
    assert open_amounts(client_with_two) == [60, 50]


@pytest.mark.parametrize("amount", ["0", "-5", "10.005"])
def test_amounts_that_cannot_change_hands_are_refused(client_with_two, amount):
    with pytest.raises(BadInput):
        make.payment(client=client_with_two, amount=Decimal(amount))

    assert not Payment.objects.exists()


def test_somebody_else_s_invoice_cannot_be_paid(client_with_two):
    with pytest.raises(BadInput):
        make.payment(client=make.client(), invoice=Invoice.objects.first())

    assert not Payment.objects.exists()


def test_a_balance_is_put_to_the_next_invoice(client_with_two):
    make.payment(client=client_with_two, amount=Decimal(180))
    make.invoice(client=client_with_two, amounts=("25",), issued_on=date(2026, 6, 1))

    used = use_balance(client=client_with_two)

    assert (used, balance_of(client_with_two, currency="GBP")) == (Decimal(25), Decimal(5))
    assert open_amounts(client_with_two) == [0, 0, 0]


def test_a_balance_is_paid_back_once(client_with_two):
    make.payment(client=client_with_two, amount=Decimal(180))
    values = {"client": client_with_two, "paid_on": date(2026, 5, 9), "amount": Decimal(30), "key": "back:1"}

    assert refund(**values) == refund(**values)
    assert balance_of(client_with_two, currency="GBP") == 0


def test_more_than_the_balance_is_not_paid_back(client_with_two):
    make.payment(client=client_with_two, amount=Decimal(160))

    with pytest.raises(BadInput) as refusal:
        refund(client=client_with_two, paid_on=date(2026, 5, 9), amount=Decimal("10.01"), key="back:1")

    assert "up to 10" in refusal.value.faults[0].remedy
    assert balance_of(client_with_two, currency="GBP") == 10


steps = st.lists(
    st.tuples(
        st.sampled_from(["pay", "pay_newest", "credit", "use", "refund", "invoice"]),
        st.integers(min_value=1, max_value=20_000).map(lambda cents: Decimal(cents) / 100),
    ),
    max_size=12,
)


@given(steps)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_happens_every_cent_is_somewhere(acts):
    client = make.client()
    make.invoice(client=client, amounts=("100",), issued_on=date(2026, 4, 1))
    for number, (act, amount) in enumerate(acts):
        newest = Invoice.objects.filter(client=client, kind="invoice").order_by("-pk").first()
        try:
            _do(act, amount, client, newest, f"{client.pk}:{number}")
        except BadInput:
            continue  # refused: the sums below show that nothing was half done

    received = sum(p.amount for p in Payment.objects.filter(client=client, kind="received"))
    returned = sum(p.amount for p in Payment.objects.filter(client=client, kind="refund"))
    on_invoices = sum(i.paid for i in Invoice.objects.filter(client=client))
    assert received == returned + on_invoices + balance_of(client, currency="GBP")
    for invoice in Invoice.objects.filter(client=client, kind="invoice"):
        rows = Allocation.objects.filter(invoice=invoice)
        assert sum(row.amount for row in rows) == invoice.paid
        assert invoice.paid + invoice.credited + invoice.open_amount == invoice.gross
        assert 0 <= invoice.open_amount <= invoice.gross


def _do(act, amount, client, newest, key):
    if act == "invoice":
        make.invoice(client=client, amounts=(str(amount),), issued_on=date(2026, 4, 1))
    elif act == "credit":
        line = newest.lines.get()
        credit_invoice(invoice=newest, reason="x", amounts={line.pk: amount}, credited_on=date(2026, 4, 1))
    elif act == "use":
        use_balance(client=client)
    elif act == "refund":
        refund(client=client, paid_on=date(2026, 4, 2), amount=amount, key=key)
    else:
        record_payment(
            client=client,
            received_on=date(2026, 4, 2),
            amount=amount,
            key=key,
            invoice=newest if act == "pay_newest" else None,
        )
