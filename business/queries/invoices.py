"""Charges, invoices and payments as pages, papers and commands need them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Prefetch, QuerySet, Sum

from business.models import Allocation, Charge, Client, Invoice, InvoiceLine, Payment
from business.queries.sums import AMOUNT, exact, total_of

UNSETTLED = (Invoice.State.ISSUED, Invoice.State.PART_PAID)


def open_charges(*, until: date | None = None) -> QuerySet[Charge]:
    """Charges neither invoiced nor written off, the oldest work first."""
    charges = Charge.objects.filter(invoice_line=None, written_off_at=None)
    if until is not None:
        charges = charges.filter(done_on__lte=until)
    return charges.order_by("client_id", "currency", "done_on", "place", "pk")


def charge_by_reference(reference: str) -> Charge | None:
    return Charge.objects.filter(reference=reference).first()


def charges_about(reference_start: str) -> QuerySet[Charge]:
    """All charges that come from one thing, like everything of "visit:17:"."""
    return Charge.objects.filter(reference__startswith=reference_start).order_by("pk")


def drafts_of(client: Client, *, currency: str) -> QuerySet[Invoice]:
    """The drafts that may gather a client's open charges; the oldest first."""
    return Invoice.objects.filter(client=client, currency=currency, kind="invoice", state="draft").order_by("pk")


def drafts(*, clients: Iterable[int] | None = None) -> QuerySet[Invoice]:
    rows = Invoice.objects.filter(state="draft", kind="invoice").select_related("client")
    return rows if clients is None else rows.filter(client_id__in=clients)


def whole_invoices(invoices: QuerySet[Invoice]) -> QuerySet[Invoice]:
    """With lines and what settled them, in three queries however many there are."""
    return invoices.select_related("client", "document", "credits", "issued_by").prefetch_related(
        Prefetch("lines", queryset=InvoiceLine.objects.order_by("position")),
        Prefetch("allocations", queryset=Allocation.objects.select_related("payment").order_by("pk")),
        "credit_notes",
    )


def invoice_by_id(invoice_id: int) -> Invoice:
    return whole_invoices(Invoice.objects.all()).get(pk=invoice_id)


def unsettled_of(client: Client, *, currency: str) -> QuerySet[Invoice]:
    """Invoices still to be paid, the one due first before the others."""
    rows = Invoice.objects.filter(client=client, currency=currency, kind="invoice", state__in=UNSETTLED)
    return rows.order_by("due_on", "pk")


def invoices_for_list(invoices: QuerySet[Invoice]) -> QuerySet[Invoice]:
    """Drafts first, then the newest paper."""
    return invoices.select_related("client", "credits").order_by(
        F("issued_on").desc(nulls_first=True), "-sequence", "-pk"
    )


def overdue(invoices: QuerySet[Invoice], *, on: date) -> QuerySet[Invoice]:
    return invoices.filter(kind="invoice", state__in=UNSETTLED, due_on__lt=on)


def last_issue_day(series: str) -> date | None:
    newest = Invoice.objects.filter(series=series).order_by("-sequence").first()
    return newest.issued_on if newest else None


@dataclass(frozen=True, kw_only=True)
class CreditedSoFar:
    """What earlier credit notes took off a line."""

    net: Decimal
    tax: Decimal
    gross: Decimal


def credited_by_line(invoice: Invoice) -> dict[int, CreditedSoFar]:
    rows = (
        InvoiceLine.objects.filter(credits_line__invoice=invoice)
        .values("credits_line_id")
        .annotate(
            n=Sum("net", output_field=AMOUNT), t=Sum("tax", output_field=AMOUNT), g=Sum("gross", output_field=AMOUNT)
        )
    )
    return {
        row["credits_line_id"]: CreditedSoFar(net=exact(row["n"]), tax=exact(row["t"]), gross=exact(row["g"]))
        for row in rows
    }


def payment_by_key(key: str) -> Payment | None:
    return Payment.objects.filter(key=key).first()


def payments_of(client: Client) -> QuerySet[Payment]:
    return Payment.objects.filter(client=client).order_by("-received_on", "-pk")


def given_up_on(invoice: Invoice) -> Decimal:
    """How much of what settles an invoice was given up, not paid."""
    return total_of(Allocation.objects.filter(invoice=invoice, payment__kind="given_up"), "amount")


def put_by_payment(invoice: Invoice) -> list[tuple[int, Decimal]]:
    """How much each payment has on the invoice now: what was given up first, then the newest money."""
    sums: dict[int, Decimal] = {}
    rows = Allocation.objects.filter(invoice=invoice).select_related("payment")
    for row in rows.order_by("payment__received_on", "payment_id", "pk"):
        sums[row.payment_id] = sums.get(row.payment_id, Decimal(0)) + row.amount
    given_up = set(rows.filter(payment__kind="given_up").values_list("payment_id", flat=True))
    newest_first = list(sums.items())[::-1]
    return sorted(newest_first, key=lambda part: part[0] not in given_up)


@dataclass(frozen=True, kw_only=True)
class MoneyToday:
    """The heads of the money page, in the business's own currency."""

    ready_to_charge: Decimal
    clients_to_charge: int
    drafts: int
    open_amount: Decimal
    late_amount: Decimal
    late_invoices: int


def money_today(*, on: date, currency: str) -> MoneyToday:
    charges = open_charges().filter(currency=currency).order_by()
    unsettled = Invoice.objects.filter(kind="invoice", state__in=UNSETTLED, currency=currency).order_by()
    left = F("gross") - F("paid") - F("credited")
    late = overdue(unsettled, on=on)
    return MoneyToday(
        ready_to_charge=total_of(charges, "amount"),
        clients_to_charge=charges.values("client").distinct().count(),
        drafts=drafts().count(),
        open_amount=total_of(unsettled, left),
        late_amount=total_of(late, left),
        late_invoices=late.count(),
    )


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How a paper stands on a day: a state for its badge, and a detail in words."""

    state: str
    detail: str = ""


def standing(invoice: Invoice, *, on: date) -> Standing:
    """Late comes before sent and part paid: it is what somebody must act on."""
    if invoice.kind == Invoice.Kind.INVOICE and invoice.state in UNSETTLED and invoice.due_on and invoice.due_on < on:
        days = (on - invoice.due_on).days
        return Standing(state="late", detail=f"{days} day{'s' if days > 1 else ''}")
    return Standing(state=invoice.state)


@dataclass(frozen=True, kw_only=True)
class ClientCharges:
    """A client's open charges, for the page that gathers them."""

    client: Client
    charges: list[Charge]
    currency: str

    @property
    def amount(self) -> Decimal:
        return sum((charge.amount for charge in self.charges), Decimal(0))


def charges_by_client(charges: QuerySet[Charge]) -> list[ClientCharges]:
    """Open charges, one group for each client and currency, by name."""
    groups: dict[tuple[int, str], ClientCharges] = {}
    for charge in charges.select_related("client").order_by("client__name", "client_id", "done_on", "place", "pk"):
        group = groups.setdefault(
            (charge.client_id, charge.currency),
            ClientCharges(client=charge.client, charges=[], currency=charge.currency),
        )
        group.charges.append(charge)
    return list(groups.values())
