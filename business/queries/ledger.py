"""What the accountant's exports are made of: papers, money and what was put where, by the day it counts from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Count, Q, QuerySet, Sum

from business.models import Allocation, Invoice, InvoiceLine, LedgerAccount, Payment, TaxTreatment
from business.money.amounts import minor_digits
from business.money.journal import Account, Booking, Money, Put, Sale, Taxed, book_money, book_sale
from business.queries.sums import AMOUNT, exact


def issued_papers(*, first: date | None, last: date) -> QuerySet[Invoice]:
    """Invoices and credit notes by their day of issue."""
    rows = Invoice.objects.exclude(state="draft").filter(issued_on__lte=last)
    return rows if first is None else rows.filter(issued_on__gte=first)


def bookings(*, first: date | None, last: date) -> list[Booking]:
    """The journal of some days (all days up to ``last`` if ``first`` is None), in order of day and document."""
    found = [*_bookings_of_papers(first, last), *_bookings_of_money(first, last)]
    return sorted(found, key=lambda booking: (booking.day, booking.document))


def chosen_accounts() -> list[Account]:
    return [
        Account(
            role=row.role,
            number=row.number,
            name=row.name,
            treatment=row.treatment,
            rate_percent=row.percent,
            method=row.method,
        )
        for row in LedgerAccount.objects.all()
    ]


def accounts_for_list() -> QuerySet[LedgerAccount]:
    return LedgerAccount.objects.order_by("role", "treatment", "percent", "method", "pk")


@dataclass(frozen=True, kw_only=True)
class OpenItem:
    """What stood open on a day: an invoice (owed to us), or money of a client that no invoice had used (below zero)."""

    client_code: str
    client_name: str
    kind: str
    number: str
    day: date
    due_on: date | None
    currency: str
    amount: Decimal
    settled: Decimal
    open: Decimal

    def days_late(self, on: date) -> int:
        return max((on - self.due_on).days, 0) if self.due_on and self.open > 0 else 0


def open_items(*, on: date) -> list[OpenItem]:
    """Everything open at the end of a day, by client. Sums to the accounts receivables and client credit of that day."""
    items = [*_open_invoices(on), *_free_money(on)]
    return sorted(items, key=lambda item: (item.client_name, item.client_code, item.day, item.number))


@dataclass(frozen=True, kw_only=True)
class TaxRow:
    """One kind of tax over some days; credit notes below zero, so that the columns add up."""

    currency: str
    treatment: str
    rate_percent: Decimal
    papers: int
    invoiced_net: Decimal
    invoiced_tax: Decimal
    credited_net: Decimal
    credited_tax: Decimal

    @property
    def treatment_words(self) -> str:
        return TaxTreatment(self.treatment).label.lower()

    @property
    def net(self) -> Decimal:
        return self.invoiced_net + self.credited_net

    @property
    def tax(self) -> Decimal:
        return self.invoiced_tax + self.credited_tax


def tax_summary(*, first: date, last: date) -> list[TaxRow]:
    """What was invoiced and credited, by treatment and rate, the highest rate first."""
    is_credit = Q(invoice__kind="credit_note")
    rows = (
        InvoiceLine.objects.filter(invoice__in=issued_papers(first=first, last=last))
        .order_by()
        .values("invoice__currency", "tax_treatment", "tax_percent")
        .annotate(
            papers=Count("invoice", distinct=True),
            sold=Sum("net", filter=~is_credit, output_field=AMOUNT),
            sold_tax=Sum("tax", filter=~is_credit, output_field=AMOUNT),
            back=Sum("net", filter=is_credit, output_field=AMOUNT),
            back_tax=Sum("tax", filter=is_credit, output_field=AMOUNT),
        )
    )
    found = [
        TaxRow(
            currency=row["invoice__currency"],
            treatment=row["tax_treatment"],
            rate_percent=row["tax_percent"],
            papers=row["papers"],
            invoiced_net=exact(row["sold"]),
            invoiced_tax=exact(row["sold_tax"]),
            credited_net=-exact(row["back"]),
            credited_tax=-exact(row["back_tax"]),
        )
        for row in rows
    ]
    return sorted(found, key=lambda row: (row.currency, -row.rate_percent, row.treatment))


def _bookings_of_papers(first: date | None, last: date) -> list[Booking]:
    papers = issued_papers(first=first, last=last).select_related("client").order_by("pk")
    parts: dict[int, list[Taxed]] = {}
    lines = (
        InvoiceLine.objects.filter(invoice__in=papers.order_by())
        .order_by("invoice_id", "-tax_percent", "tax_treatment")
        .values("invoice_id", "tax_treatment", "tax_percent")
        .annotate(n=Sum("net", output_field=AMOUNT), t=Sum("tax", output_field=AMOUNT))
    )
    for row in lines:
        taxed = Taxed(
            treatment=row["tax_treatment"], rate_percent=row["tax_percent"], net=exact(row["n"]), tax=exact(row["t"])
        )
        parts.setdefault(row["invoice_id"], []).append(taxed)
    return [
        book_sale(
            Sale(
                day=paper.issued_on or last,
                number=paper.number,
                client=paper.client.code,
                currency=paper.currency,
                parts=parts.get(paper.pk, []),
                is_credit=paper.kind == Invoice.Kind.CREDIT_NOTE,
            )
        )
        for paper in papers
    ]


def _bookings_of_money(first: date | None, last: date) -> Iterable[Booking]:
    puts = _puts(first, last)
    within = Q(received_on__lte=last) if first is None else Q(received_on__gte=first, received_on__lte=last)
    payments = Payment.objects.filter(within | Q(pk__in=puts)).select_related("client").order_by("pk")
    for payment in payments:
        money = Money(
            day=payment.received_on,
            reference=f"P{payment.pk:05}",
            client=payment.client.code,
            currency=payment.currency,
            kind=payment.kind,  # type: ignore[arg-type]  # the table holds the same three words
            amount=payment.amount,
            method=payment.method,
            puts=puts.get(payment.pk, []),
        )
        for booking in book_money(money, digits=minor_digits(payment.currency)):
            # A payment of earlier days comes along for what was put from it within these days.
            if booking.day <= last and (first is None or booking.day >= first):
                yield booking


def _booked(rows: QuerySet[Allocation], *, last: date, first: date | None = None) -> QuerySet[Allocation]:
    """Those that count from some days. Rows written before days were kept count from the day of the money."""
    kept, older = Q(booked_on__lte=last), Q(booked_on=None, payment__received_on__lte=last)
    if first is not None:
        kept &= Q(booked_on__gte=first)
        older &= Q(payment__received_on__gte=first)
    return rows.filter(kept | older)


def _puts(first: date | None, last: date) -> dict[int, list[Put]]:
    rows = _booked(Allocation.objects.filter(invoice__isnull=False), first=first, last=last)
    puts: dict[int, list[Put]] = {}
    for row in rows.select_related("invoice", "payment").order_by("pk"):
        number = row.invoice.number if row.invoice else ""
        day = row.booked_on or row.payment.received_on
        puts.setdefault(row.payment_id, []).append(Put(day=day, invoice=number, amount=row.amount))
    return puts


def _open_invoices(on: date) -> list[OpenItem]:
    papers = issued_papers(first=None, last=on).filter(kind="invoice").select_related("client").order_by("pk")
    put = _sums(_booked(Allocation.objects.filter(invoice__in=papers.order_by()), last=on), "invoice")
    credited = {
        row["credits_id"]: exact(row["total"])
        for row in issued_papers(first=None, last=on)
        .filter(kind="credit_note")
        .order_by()
        .values("credits_id")
        .annotate(total=Sum("gross", output_field=AMOUNT))
    }
    items = []
    for paper in papers:
        settled = put.get(paper.pk, Decimal(0)) + credited.get(paper.pk, Decimal(0))
        if paper.gross != settled:
            items.append(_item_of_paper(paper, settled, on))
    return items


def _item_of_paper(paper: Invoice, settled: Decimal, on: date) -> OpenItem:
    return OpenItem(
        client_code=paper.client.code,
        client_name=paper.client.name,
        kind="invoice",
        number=paper.number,
        day=paper.issued_on or on,
        due_on=paper.due_on,
        currency=paper.currency,
        amount=paper.gross,
        settled=settled,
        open=paper.gross - settled,
    )


def _free_money(on: date) -> list[OpenItem]:
    payments = Payment.objects.filter(kind="received", received_on__lte=on).select_related("client").order_by("pk")
    used = _sums(_booked(Allocation.objects.filter(invoice__isnull=False), last=on), "payment")
    back = _sums(_booked(Allocation.objects.filter(of_payment__isnull=False), last=on), "of_payment")
    items = []
    for payment in payments:
        settled = used.get(payment.pk, Decimal(0)) + back.get(payment.pk, Decimal(0))
        if payment.amount != settled:
            items.append(
                OpenItem(
                    client_code=payment.client.code,
                    client_name=payment.client.name,
                    kind="client_credit",
                    number=f"P{payment.pk:05}",
                    day=payment.received_on,
                    due_on=None,
                    currency=payment.currency,
                    amount=-payment.amount,
                    settled=-settled,
                    open=settled - payment.amount,
                )
            )
    return items


def _sums(rows: QuerySet[Allocation], by: str) -> dict[int, Decimal]:
    grouped = rows.order_by().values(f"{by}_id").annotate(total=Sum("amount", output_field=AMOUNT))
    return {row[f"{by}_id"]: exact(row["total"]) for row in grouped}
