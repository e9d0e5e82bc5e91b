"""Record money, put it to invoices, give it back. Every cent is somewhere: on an invoice, free, or returned."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import Allocation, Client, Invoice, Payment, Staff
from business.money.allocation import Debt, settle
from business.money.amounts import minor_digits, rounded
from business.queries.clients import balance_of
from business.queries.invoices import given_up_on, payment_by_key, put_by_payment, unsettled_of
from business.queries.profile import our_profile
from business.services.audit import note as write_note
from business.services.payment_reminders import stop_waiting_mails
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
    _put_to_invoices(payment, first=invoice, booked_on=received_on)
    return payment


@transaction.atomic
def use_balance(
    *, client: Client, currency: str = "", first: Invoice | None = None, booked_on: date | None = None
) -> Decimal:
    """Put what a client has paid too much to their open invoices; how much was put comes back.

    Args:
        first: this invoice alone, instead of all that are open.
        booked_on: the day it counts from; today if not given.
    """
    booked_on = booked_on or clock.today(our_profile().time_zone)
    Client.objects.select_for_update().get(pk=client.pk)
    currency = currency or our_profile().currency
    before = balance_of(client, currency=currency)
    payments = Payment.objects.filter(client=client, currency=currency, kind=Payment.Kind.RECEIVED)
    for payment in payments.order_by("received_on", "pk"):
        if payment.free_amount > 0:
            _put_to_invoices(payment, first=first, booked_on=booked_on, only_first=first is not None)
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
            Allocation.objects.create(payment=back, of_payment=source, amount=part, booked_on=paid_on)
            _move(back, part)
            _move(source, part)
    return back


@transaction.atomic
def give_up(*, invoice: Invoice, reason: str, key: str, on: date | None = None, by: Staff | None = None) -> Payment:
    """Stop asking for what is still open on an invoice: it becomes a bad debt, and the books say so.

    Raises:
        BadInput: no reason is given.
        AlreadyDone: nothing is open on it.
    """
    Client.objects.select_for_update().get(pk=invoice.client_id)
    if (known := payment_by_key(key)) is not None:
        return known
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why it is given up")])
    if invoice.open_amount <= 0:
        raise AlreadyDone([Fault(str(invoice), "has nothing open", "leave it as it is")])
    day = on or clock.today(our_profile().time_zone)
    row = Payment(
        key=key,
        client=invoice.client,
        kind=Payment.Kind.GIVEN_UP,
        received_on=day,
        amount=invoice.open_amount,
        currency=invoice.currency,
        method=Payment.Method.OTHER,
        note=reason.strip(),
        recorded_by=by,
    )
    save_checked(row, where="given up")
    _put(row, invoice, row.amount, day, reason.strip())
    said = {"number": invoice.number, "amount": row.amount, "reason": row.note}
    write_note("invoice given up", f"client:{invoice.client_id}", after=said, has_money=True, by=by)
    return row


@transaction.atomic
def ask_again(*, invoice: Invoice, reason: str, by: Staff | None = None) -> Invoice:
    """What was given up is asked for again.

    Raises:
        BadInput: no reason is given.
        AlreadyDone: nothing was given up.
    """
    Client.objects.select_for_update().get(pk=invoice.client_id)
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why it is asked for again")])
    amount = given_up_on(invoice)
    if not amount:
        raise AlreadyDone([Fault(str(invoice), "was not given up", "leave it as it is")])
    # What was given up goes before any money.
    take_back(invoice=invoice, amount=amount, reason=reason.strip())
    said = {"number": invoice.number, "amount": amount, "reason": reason.strip()}
    write_note("invoice asked for again", f"client:{invoice.client_id}", after=said, has_money=True, by=by)
    invoice.refresh_from_db()
    return invoice


def take_back(*, invoice: Invoice, amount: Decimal, reason: str, booked_on: date | None = None) -> None:
    """Free ``amount`` of what was paid on an invoice, the newest payment first; it becomes the client's balance.

    What was given up is freed before any money, and simply falls away.

    Raises:
        BadInput: less than that was paid on it.
    """
    left = amount
    for payment_id, put in put_by_payment(invoice):
        part = min(put, left)
        if part > 0:
            payment = Payment.objects.select_for_update().get(pk=payment_id)
            _put(payment, invoice, -part, booked_on or clock.today(our_profile().time_zone), reason)
            left -= part
    if left:
        raise BadInput([Fault(f"invoice {invoice.number}", f"less than {amount} was paid on it", "take back less")])


def settled_state(invoice: Invoice) -> Invoice.State:
    """The state that follows from what is paid, credited and given up."""
    if invoice.paid + invoice.credited >= invoice.gross:
        if invoice.paid and given_up_on(invoice):
            return Invoice.State.GIVEN_UP
        return Invoice.State.CREDITED if invoice.credited and not invoice.paid else Invoice.State.PAID
    return Invoice.State.PART_PAID if invoice.paid or invoice.credited else Invoice.State.ISSUED


def _put_to_invoices(payment: Payment, *, first: Invoice | None, booked_on: date, only_first: bool = False) -> None:
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
        if not only_first or (first is not None and row.pk == first.pk)
    ]
    for invoice_id, part in settle(payment.free_amount, debts).parts:
        _put(payment, rows[invoice_id], part, booked_on, "")


def _put(payment: Payment, invoice: Invoice, amount: Decimal, booked_on: date, reason: str) -> None:
    """Put a part of a payment to an invoice, or take it back (below zero). It cannot count before there is an invoice."""
    day = max(booked_on, invoice.issued_on or booked_on)
    Allocation.objects.create(payment=payment, invoice=invoice, amount=amount, booked_on=day, reason=reason)
    _move(payment, amount)
    invoice.paid += amount
    invoice.state = settled_state(invoice)
    save_checked(invoice, only=["paid", "state"])
    stop_waiting_mails(invoice)


def _move(payment: Payment, amount: Decimal) -> None:
    payment.allocated += amount
    save_checked(payment, only=["allocated"])


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
