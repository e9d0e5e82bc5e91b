"""Record money, put it to invoices, give it back. Every cent is somewhere: on an invoice, free, or returned."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db import transaction

from business.errors import BadInput, Fault
from business.models import Allocation, Client, Invoice, Payment, Staff
from business.money.allocation import Debt, settle
from business.money.amounts import minor_digits, rounded
from business.queries.clients import balance_of
from business.queries.invoices import payment_by_key, unsettled_of
from business.queries.profile import our_profile
from business.services.rows import save_checked


@transaction.atomic
def record_payment(
    *,
    client: Client,
    received_on: date,
    amount: Decimal,
    key: str,
    method: str = Payment.Method.BANK,
    reference: str = "",
    note: str = "",
    invoice: Invoice | None = None,
    by: Staff | None = None,
    currency: str = "",
) -> Payment:
    """Record money from a client: first to the invoice named, then to the ones due first; the rest is their balance.

    Args:
        key: made by whoever records it (a form, a line of a bank statement). The same key twice is one payment.

    Raises:
        BadInput: not above zero, finer than the currency's smallest unit, or for somebody else's invoice.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    if (known := payment_by_key(key)) is not None:
        return known
    payment = Payment(
        key=key,
        client=client,
        received_on=received_on,
        amount=amount,
        currency=currency or (invoice.currency if invoice else our_profile().currency),
        method=method,
        reference=reference.strip(),
        note=note.strip(),
        recorded_by=by,
    )
    if faults := _wrong_amount(payment) + _wrong_invoice(payment, invoice):
        raise BadInput(faults)
    save_checked(payment, where="payment")
    _put_to_invoices(payment, first=invoice)
    return payment


@transaction.atomic
def use_balance(*, client: Client, currency: str = "") -> Decimal:
    """Put what a client has paid too much to their open invoices; how much was put comes back."""
    Client.objects.select_for_update().get(pk=client.pk)
    currency = currency or our_profile().currency
    before = balance_of(client, currency=currency)
    payments = Payment.objects.filter(client=client, currency=currency, kind=Payment.Kind.RECEIVED)
    for payment in payments.order_by("received_on", "pk"):
        if payment.free_amount > 0:
            _put_to_invoices(payment, first=None)
    return before - balance_of(client, currency=currency)


@transaction.atomic
def refund(
    *,
    client: Client,
    paid_on: date,
    amount: Decimal,
    key: str,
    method: str = Payment.Method.BANK,
    note: str = "",
    by: Staff | None = None,
    currency: str = "",
) -> Payment:
    """Give back what a client has paid too much, the oldest money first.

    Raises:
        BadInput: more than the client's balance.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    if (known := payment_by_key(key)) is not None:
        return known
    currency = currency or our_profile().currency
    back = Payment(
        key=key,
        client=client,
        kind=Payment.Kind.REFUND,
        received_on=paid_on,
        amount=amount,
        currency=currency,
        method=method,
        note=note.strip(),
        recorded_by=by,
    )
    balance = balance_of(client, currency=currency)
    if faults := _wrong_amount(back) or _more_than(balance, amount):
        raise BadInput(faults)
    save_checked(back, where="refund")
    sources = Payment.objects.filter(client=client, currency=currency, kind=Payment.Kind.RECEIVED)
    for source in sources.order_by("received_on", "pk"):
        part = min(source.free_amount, back.free_amount)
        if part > 0:
            Allocation.objects.create(payment=back, of_payment=source, amount=part)
            _move(back, part)
            _move(source, part)
    return back


def take_back(*, invoice: Invoice, amount: Decimal, reason: str) -> None:
    """Free ``amount`` of what was paid on an invoice, the newest payment first; it becomes the client's balance.

    Raises:
        BadInput: less than that was paid on it.
    """
    left = amount
    for payment_id, put in _put_by_payment(invoice):
        part = min(put, left)
        if part > 0:
            payment = Payment.objects.select_for_update().get(pk=payment_id)
            Allocation.objects.create(payment=payment, invoice=invoice, amount=-part, reason=reason)
            _move(payment, -part)
            left -= part
    if left:
        raise BadInput([Fault(f"invoice {invoice.number}", f"less than {amount} was paid on it", "take back less")])
    invoice.paid -= amount
    invoice.state = settled_state(invoice)
    save_checked(invoice, only=["paid", "state"])


def settled_state(invoice: Invoice) -> Invoice.State:
    """The state that follows from what is paid and credited."""
    if invoice.paid + invoice.credited >= invoice.gross:
        return Invoice.State.CREDITED if invoice.credited and not invoice.paid else Invoice.State.PAID
    return Invoice.State.PART_PAID if invoice.paid or invoice.credited else Invoice.State.ISSUED


def _put_to_invoices(payment: Payment, *, first: Invoice | None) -> None:
    open_rows = unsettled_of(payment.client, currency=payment.currency).select_for_update()
    rows = {row.pk: row for row in open_rows}
    # A named invoice comes before all that are due earlier.
    debts = [
        Debt(
            key=row.pk,
            due_on=date.min if first is not None and row.pk == first.pk else row.due_on or date.max,
            open_amount=row.open_amount,
        )
        for row in rows.values()
    ]
    for invoice_id, part in settle(payment.free_amount, debts).parts:
        invoice = rows[invoice_id]
        Allocation.objects.create(payment=payment, invoice=invoice, amount=part)
        _move(payment, part)
        invoice.paid += part
        invoice.state = settled_state(invoice)
        save_checked(invoice, only=["paid", "state"])


def _move(payment: Payment, amount: Decimal) -> None:
    payment.allocated += amount
    save_checked(payment, only=["allocated"])


def _put_by_payment(invoice: Invoice) -> list[tuple[int, Decimal]]:
    """How much each payment has on the invoice now, the newest payment first."""
    sums: dict[int, Decimal] = {}
    for row in Allocation.objects.filter(invoice=invoice).order_by("payment__received_on", "payment_id", "pk"):
        sums[row.payment_id] = sums.get(row.payment_id, Decimal(0)) + row.amount
    return list(reversed(sums.items()))


def _wrong_amount(payment: Payment) -> list[Fault]:
    if payment.amount <= 0:
        return [Fault("amount", f"{payment.amount} is not above zero", "give the amount that changed hands")]
    if payment.amount != rounded(payment.amount, minor_digits(payment.currency)):
        return [Fault("amount", f"{payment.amount} is finer than {payment.currency} goes", "round it")]
    return []


def _wrong_invoice(payment: Payment, invoice: Invoice | None) -> list[Fault]:
    if invoice is None or (invoice.client_id == payment.client_id and invoice.currency == payment.currency):
        return []
    return [Fault(f"invoice {invoice.number}", "is another client's or in another currency", "choose one of theirs")]


def _more_than(balance: Decimal, amount: Decimal) -> list[Fault]:
    if amount <= balance:
        return []
    return [Fault("amount", f"{amount} is more than the balance of {balance}", f"give back up to {balance}")]
