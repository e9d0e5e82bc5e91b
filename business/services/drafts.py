"""Gather charges into drafts. A draft has no number and may still change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from django.db import transaction

from business.errors import AlreadyDone, BadInput, Fault
from business.models import Charge, Client, Invoice, InvoiceLine
from business.money.amounts import line_amount, minor_digits
from business.money.totals import Line, total_up
from business.queries.invoices import drafts_of, open_charges
from business.queries.profile import our_profile
from business.services.billing import charge, charge_instalments
from business.services.rows import save_checked


def draft_invoices(*, until: date, clients: Iterable[int] | None = None) -> list[Invoice]:
    """Put every open charge of work done by a day on its client's draft; one draft for each client and currency.

    Instalments that fall due by then are charged first. Drafts whose total would be below zero are not made: their
    charges wait for more work. Each client is a transaction of its own, so that one that cannot be done does not hold
    up the others.
    """
    charge_instalments(until=until)
    waiting = open_charges(until=until)
    if clients is not None:
        waiting = waiting.filter(client_id__in=clients)
    found = waiting.values_list("client_id", "currency").distinct().order_by("client_id", "currency")
    made = [_draft_for(client_id, currency, until) for client_id, currency in found]
    return [invoice for invoice in made if invoice is not None]


@transaction.atomic
def _draft_for(client_id: int, currency: str, until: date) -> Invoice | None:
    client = Client.objects.select_for_update().get(pk=client_id)
    charges = list(open_charges(until=until).filter(client=client, currency=currency).select_for_update())
    draft = drafts_of(client, currency=currency).select_for_update().first()
    already = sum((_amount(line) for line in draft.lines.all()), Decimal(0)) if draft else Decimal(0)
    if not charges or already + sum(charge.amount for charge in charges) < 0:
        return None
    draft = draft or _new_draft(client, currency)
    _put_on(draft, charges)
    recalculate(draft)
    return draft


def _new_draft(client: Client, currency: str) -> Invoice:
    profile = our_profile()
    draft = Invoice(
        client=client,
        currency=currency,
        prices_include_tax=profile.prices_include_tax,
        tax_rounding=profile.tax_rounding,
    )
    save_checked(draft, where=f"invoice for {client.name}")
    return draft


def _put_on(draft: Invoice, charges: Sequence[Charge]) -> None:
    start = draft.lines.count()
    for position, row in enumerate(charges, start=start + 1):
        line = InvoiceLine(
            invoice=draft,
            position=position,
            done_on=row.done_on,
            place=row.place,
            text=row.text,
            quantity=row.quantity,
            unit=row.unit,
            unit_price=row.unit_price,
            tax_treatment=row.tax_treatment,
            tax_percent=row.tax_percent,
            reference=row.reference,
            net=row.amount,
            gross=row.amount,
        )
        line.save()
        row.invoice_line = line
        row.save(update_fields=["invoice_line"])


def recalculate(draft: Invoice) -> Invoice:
    """Tax, totals, order and days of work of a draft, from its lines."""
    lines = sorted(draft.lines.all(), key=lambda line: (line.done_on or date.max, line.place, line.position))
    # Read before anything is written: the amount of a line sits in its net or its gross.
    totals = total_up(
        [Line(amount=_amount(line), rate_percent=line.tax_percent, treatment=line.tax_treatment) for line in lines],
        rounding=draft.tax_rounding,  # type: ignore[arg-type]  # the table holds the same two words
        includes_tax=draft.prices_include_tax,
        digits=minor_digits(draft.currency),
    )
    for line, sums in zip(lines, totals.lines, strict=True):
        line.net, line.tax, line.gross = sums.net, sums.tax, sums.gross
    InvoiceLine.objects.bulk_update(lines, ["net", "tax", "gross"])
    _put_in_order(lines)
    days = [line.done_on for line in lines if line.done_on]
    draft.net, draft.tax, draft.gross = totals.net, totals.tax, totals.gross
    draft.work_from, draft.work_until = min(days, default=None), max(days, default=None)
    save_checked(draft, only=["net", "tax", "gross", "work_from", "work_until"])
    return draft


def _put_in_order(lines: Sequence[InvoiceLine]) -> None:
    if [line.position for line in lines] == list(range(1, len(lines) + 1)):
        return
    # Positions are unique: all move out of the way before the new order is written.
    for offset in (max(line.position for line in lines), 0):
        for position, line in enumerate(lines, start=1):
            line.position = position + offset
            line.save(update_fields=["position"])


def _amount(line: InvoiceLine) -> Decimal:
    """Quantity times price as agreed: the gross where prices include tax, else the net."""
    return line.gross if line.invoice.prices_include_tax else line.net


@transaction.atomic
def add_line(
    *,
    draft: Invoice,
    text: str,
    unit_price: Decimal,
    quantity: Decimal = Decimal(1),
    unit: str = "lump",
    done_on: date,
    tax_treatment: str = "standard",
    key: str,
) -> Invoice:
    """Something not charged by a visit. It becomes a charge like the others, so nothing is invoiced beside them.

    Args:
        key: made with the form, so that the same form sent twice adds one line.
    """
    draft = _locked(draft)
    row = charge(
        client=draft.client,
        done_on=done_on,
        text=text,
        unit_price=unit_price,
        quantity=quantity,
        unit=unit,
        tax_treatment=tax_treatment,
        reference=f"by-hand:{key}",
    )
    if row.invoice_line_id is None:
        _put_on(draft, [row])
    return recalculate(draft)


@transaction.atomic
def take_off(*, draft: Invoice, line_id: int) -> Invoice:
    """Take a line off a draft; its charge is open again.

    Raises:
        BadInput: the line is not on this draft.
    """
    draft = _locked(draft)
    line = draft.lines.filter(pk=line_id).first()
    if line is None:
        raise BadInput([Fault("line", "is not on this draft", "look at the draft again")])
    line.delete()
    return recalculate(draft)


@transaction.atomic
def reword(*, draft: Invoice, line_id: int, text: str) -> Invoice:
    """Change the words of a line; the charge keeps its own."""
    draft = _locked(draft)
    line = draft.lines.filter(pk=line_id).first()
    if line is None:
        raise BadInput([Fault("line", "is not on this draft", "look at the draft again")])
    line.text = text.strip()
    save_checked(line, where="line", only=["text"])
    return draft


@transaction.atomic
def merge_lines(*, draft: Invoice, line_ids: Sequence[int], text: str) -> Invoice:
    """Make one line of several of the same tax; all their charges stay tied to it.

    Raises:
        BadInput: fewer than two lines, or they bear different tax.
    """
    draft = _locked(draft)
    lines = list(draft.lines.filter(pk__in=line_ids))
    if len(lines) < 2 or len({(line.tax_treatment, line.tax_percent) for line in lines}) > 1:
        raise BadInput([Fault("lines", "cannot become one", "choose two or more lines of the same tax")])
    first, *others = lines
    amount = sum((_amount(line) for line in lines), Decimal(0))
    for line in others:
        line.charges.update(invoice_line=first)
        line.delete()
    first.text = text.strip()
    first.quantity, first.unit, first.unit_price = Decimal(1), "lump", amount
    first.net = first.gross = line_amount(quantity=Decimal(1), unit_price=amount, digits=minor_digits(draft.currency))
    first.tax = Decimal(0)
    save_checked(first, where="line")
    return recalculate(draft)


@transaction.atomic
def annotate(*, draft: Invoice, note: str) -> Invoice:
    """A sentence to the client, printed under the lines."""
    draft = _locked(draft)
    draft.note = note.strip()
    save_checked(draft, only=["note"])
    return draft


@transaction.atomic
def drop_draft(*, draft: Invoice) -> None:
    """Throw a draft away; its charges are open again."""
    _locked(draft).delete()


def _locked(draft: Invoice) -> Invoice:
    draft = Invoice.objects.select_for_update().get(pk=draft.pk)
    if not draft.is_draft:
        raise AlreadyDone([Fault(f"invoice {draft.number}", "is issued and stays as it is", "credit it instead")])
    return draft
