"""Issue an invoice, and take one back by a credit note. What is issued never changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from business import clock
from business.documents.e_invoice_terms import missing_for_e_invoice
from business.errors import AlreadyDone, BadInput, Fault
from business.jobs import later
from business.models import BusinessProfile, Charge, Client, EInvoice, Invoice, InvoiceLine, Staff
from business.money.amounts import Taxed, exact_tax, minor_digits, rounded
from business.money.totals import sum_of
from business.queries.clients import agreement_on
from business.queries.invoices import CreditedSoFar, credited_by_line, last_issue_day
from business.queries.parties import buyer_of, seller_of
from business.queries.profile import our_profile, profile_is_stored
from business.services.audit import note
from business.services.numbers import take_number
from business.services.payment_reminders import stop_waiting_mails
from business.services.payments import settled_state, take_back, use_balance
from business.services.rows import save_checked

NOTHING = CreditedSoFar(net=Decimal(0), tax=Decimal(0), gross=Decimal(0))


@transaction.atomic
def issue_invoice(
    *, invoice: Invoice, by: Staff | None = None, issued_on: date | None = None, uses_advance: bool = False
) -> Invoice:
    """Give a draft its number, freeze it, and have its paper written.

    Number and invoice are one transaction: there is no number without its invoice, no gap and no double, however many
    people issue at once. Numbers of a series follow the days of issue.

    Args:
        uses_advance: what the client has paid in advance is put to it at once, and the paper takes it off.

    Raises:
        AlreadyDone: it was issued before.
        BadInput: it has no line or no address, we have no name yet, the day lies before the last invoice's, or it is
            to be an electronic invoice and something for it is missing (each named).
    """
    if uses_advance:
        # The client's row is the gate for everything that moves their money.
        Client.objects.select_for_update().get(pk=invoice.client_id)
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if not invoice.is_draft:
        raise AlreadyDone([Fault(f"invoice {invoice.number}", "is issued already", "open it to see it")])
    profile = our_profile()
    issued_on = issued_on or clock.today(profile.time_zone)
    if faults := _not_ready(invoice) + _not_ready_for_machines(invoice, profile):
        raise BadInput(faults)
    _number(invoice, prefix=profile.invoice_prefix, issued_on=issued_on)
    invoice.due_on = issued_on + timedelta(days=_terms_days(invoice.client, issued_on, profile))
    _freeze(invoice, profile, by)
    invoice.state = settled_state(invoice)
    save_checked(invoice)
    if uses_advance:
        use_balance(client=invoice.client, currency=invoice.currency, first=invoice, booked_on=issued_on)
        invoice.refresh_from_db()
        invoice.prepaid = invoice.paid
        save_checked(invoice, only=["prepaid"])
    note(
        "invoice issued",
        f"client:{invoice.client_id}",
        after={"number": invoice.number, "gross": invoice.gross, "issued_on": issued_on},
        has_money=True,
        by=by,
    )
    later("business.tasks.write_invoice_paper", invoice_id=invoice.pk)
    return invoice


@transaction.atomic
def credit_invoice(
    *,
    invoice: Invoice,
    reason: str,
    by: Staff | None = None,
    amounts: Mapping[int, Decimal] | None = None,
    charge_again: bool = False,
    credited_on: date | None = None,
) -> Invoice:
    """Take an issued invoice back, whole or in part, by a credit note of its own number.

    Args:
        amounts: by line, how much to take back, as the line counts (net, or gross where prices include tax); None
            takes back all that is left.
        charge_again: the charges of lines taken back whole become open, for a better invoice.

    Raises:
        BadInput: it was never issued, more is taken back than is left, or no reason is given.
        AlreadyDone: nothing is left to take back.
    """
    # The client's row is the gate for everything that moves their money.
    Client.objects.select_for_update().get(pk=invoice.client_id)
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if invoice.is_draft or invoice.kind != Invoice.Kind.INVOICE:
        raise BadInput([Fault(str(invoice), "is not an issued invoice", "change the draft, or choose an invoice")])
    taken = _parts_to_credit(invoice, amounts)
    profile = our_profile()
    issued_on = credited_on or clock.today(profile.time_zone)
    if issued_on < (invoice.issued_on or issued_on):
        raise BadInput([Fault("day", f"lies before the invoice of {invoice.issued_on}", "choose a later day")])
    note = _credit_note(invoice, taken, reason.strip())
    _number(note, prefix=profile.credit_prefix, issued_on=issued_on)
    note.due_on = issued_on
    _freeze(note, profile, by)
    # As the invoice named them; a client who wants no electronic paper any more gets none.
    note.buyer = {**invoice.buyer, "e_invoice": note.buyer["e_invoice"]}
    note.state = Invoice.State.ISSUED
    save_checked(note, where="credit note")
    _write_credit_lines(note, taken)
    if faults := _missing_on(note, note.seller, note.buyer):
        raise BadInput(faults)
    _settle_by_credit(invoice, note)
    if charge_again:
        whole = [part.line.pk for part in taken if part.is_whole]
        Charge.objects.filter(invoice_line__in=whole).update(invoice_line=None)
    later("business.tasks.write_invoice_paper", invoice_id=note.pk)
    return note


@dataclass(frozen=True, kw_only=True)
class _Part:
    """What is taken back of one line."""

    line: InvoiceLine
    sums: Taxed
    is_whole: bool


def _not_ready(invoice: Invoice) -> list[Fault]:
    faults = []
    if not profile_is_stored():
        faults.append(Fault("your business", "has no name and address yet", "enter them under Your business"))
    if not invoice.lines.exists():
        faults.append(Fault("invoice", "has no line", "add a line, or drop the draft"))
    if not invoice.client.address_lines:
        faults.append(Fault(invoice.client.name, "has no billing address", "enter it on the client's page"))
    if invoice.gross < 0:
        faults.append(Fault("total", "is below zero", "take lines off, or credit an earlier invoice"))
    return faults


def _not_ready_for_machines(invoice: Invoice, profile: BusinessProfile) -> list[Fault]:
    return _missing_on(invoice, seller_of(profile), buyer_of(invoice.client, profile))


def _missing_on(paper: Invoice, seller: Mapping[str, Any], buyer: Mapping[str, Any]) -> list[Fault]:
    """What an electronic invoice would lack; nothing where none is wanted."""
    if buyer.get("e_invoice", EInvoice.OFF) == EInvoice.OFF:
        return []
    return missing_for_e_invoice(paper, list(paper.lines.all()), seller=seller, buyer=buyer)


def _number(paper: Invoice, *, prefix: str, issued_on: date) -> None:
    """Take the next number of the year's series. The day may not lie before the last one's."""
    series = f"{prefix}{issued_on.year}"
    sequence = take_number(series)
    last = last_issue_day(series)
    if last is not None and issued_on < last:
        raise BadInput(
            [Fault("day of issue", f"{issued_on} lies before the last paper's, {last}", f"use {last} or later")]
        )
    paper.series, paper.sequence, paper.number = series, sequence, f"{series}-{sequence:05}"
    paper.issued_on, paper.issued_at = issued_on, clock.now()


def _terms_days(client: Client, on: date, profile: BusinessProfile) -> int:
    agreement = agreement_on(client, on)
    if agreement is not None and agreement.payment_terms_days is not None:
        return agreement.payment_terms_days
    return profile.payment_terms_days


def _freeze(paper: Invoice, profile: BusinessProfile, by: Staff | None) -> None:
    """Both parties as they are today; later changes of address leave the paper as it was."""
    paper.issued_by = by
    paper.seller = seller_of(profile)
    paper.buyer = buyer_of(paper.client, profile)


def _parts_to_credit(invoice: Invoice, amounts: Mapping[int, Decimal] | None) -> list[_Part]:
    """What to take back of each line, never more than is left of it.

    Raises:
        BadInput, AlreadyDone: see ``credit_invoice``.
    """
    before = credited_by_line(invoice)
    lines = {line.pk: line for line in invoice.lines.all()}
    if amounts is not None and (foreign := set(amounts) - set(lines)):
        raise BadInput([Fault("lines", f"{len(foreign)} are not on {invoice.number}", "choose lines of this invoice")])
    parts, faults = [], []
    for line in lines.values():
        left = _left_of(line, before.get(line.pk, NOTHING))
        left_amount = left.gross if invoice.prices_include_tax else left.net
        wanted = left_amount if amounts is None else amounts.get(line.pk, Decimal(0))
        if not wanted:
            continue
        if abs(wanted) > abs(left_amount) or (wanted > 0) != (left_amount > 0):
            remedy = f"take back up to {left_amount}"
            faults.append(Fault(line.text, f"{wanted} is more than is left", remedy))
            continue
        is_whole = wanted == left_amount
        sums = left if is_whole else _part_of(line, left, wanted)
        parts.append(_Part(line=line, sums=sums, is_whole=is_whole and line.pk not in before))
    if faults:
        raise BadInput(faults)
    if not parts:
        raise AlreadyDone(
            [Fault(f"invoice {invoice.number}", "has nothing left to take back", "look at its credit notes")]
        )
    return parts


def _left_of(line: InvoiceLine, before: CreditedSoFar) -> Taxed:
    return Taxed(net=line.net - before.net, tax=line.tax - before.tax, gross=line.gross - before.gross)


def _part_of(line: InvoiceLine, left: Taxed, wanted: Decimal) -> Taxed:
    """A part of a line with its tax at the line's own rate, never more tax than is left."""
    includes, digits = line.invoice.prices_include_tax, minor_digits(line.invoice.currency)
    wanted = rounded(wanted, digits)
    tax = rounded(exact_tax(wanted, rate_percent=line.tax_percent, includes_tax=includes), digits)
    tax = min(tax, left.tax) if tax > 0 else max(tax, left.tax)
    return (
        Taxed(net=wanted - tax, tax=tax, gross=wanted) if includes else Taxed(net=wanted, tax=tax, gross=wanted + tax)
    )


def _credit_note(invoice: Invoice, taken: Sequence[_Part], reason: str) -> Invoice:
    if not reason:
        raise BadInput([Fault("reason", "is empty", "say why the invoice is credited")])
    whole = sum_of([part.sums for part in taken])
    if whole.gross < 0 or whole.gross > invoice.gross - invoice.credited:
        raise BadInput([Fault("amount", f"{whole.gross} cannot be taken back", "choose other lines or amounts")])
    return Invoice(
        kind=Invoice.Kind.CREDIT_NOTE,
        client=invoice.client,
        credits=invoice,
        reason=reason,
        currency=invoice.currency,
        prices_include_tax=invoice.prices_include_tax,
        tax_rounding=invoice.tax_rounding,
        work_from=invoice.work_from,
        work_until=invoice.work_until,
        net=whole.net,
        tax=whole.tax,
        gross=whole.gross,
    )


def _write_credit_lines(note: Invoice, taken: Sequence[_Part]) -> None:
    for position, part in enumerate(taken, start=1):
        line = part.line
        amount = part.sums.gross if note.prices_include_tax else part.sums.net
        row = InvoiceLine(
            invoice=note,
            position=position,
            done_on=line.done_on,
            place=line.place,
            text=line.text,
            quantity=line.quantity if part.is_whole else Decimal(1),
            unit=line.unit if part.is_whole else "lump",
            unit_price=line.unit_price if part.is_whole else amount,
            net=part.sums.net,
            tax_treatment=line.tax_treatment,
            tax_percent=line.tax_percent,
            tax=part.sums.tax,
            gross=part.sums.gross,
            reference=line.reference,
            credits_line=line,
        )
        save_checked(row, where="credit note line")


def _settle_by_credit(invoice: Invoice, note: Invoice) -> None:
    """Lower what is open; what was paid beyond the rest goes back to the client's balance."""
    too_much = note.gross - invoice.open_amount
    if too_much > 0:
        take_back(invoice=invoice, amount=too_much, reason=f"credited by {note.number}", booked_on=note.issued_on)
        invoice.refresh_from_db()
    invoice.credited += note.gross
    invoice.state = settled_state(invoice)
    save_checked(invoice, only=["credited", "state"])
    stop_waiting_mails(invoice)
