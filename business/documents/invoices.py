"""Invoices and credit notes on paper. Everything on it comes from the row; an issued one holds its own parties."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from textwrap import wrap
from typing import Any

from django.template.loader import render_to_string

from business.documents.pdf import ARCHIVAL, render
from business.documents.words import day_text, days_text, money_text, percent_text, quantity_text
from business.models import Invoice, InvoiceLine, QuoteLine
from business.money.amounts import Taxed
from business.money.totals import sum_of
from business.queries.parties import buyer_of, seller_of
from business.queries.profile import our_profile

# What the law wants to read where no tax is charged. Source: Directive 2006/112/EC article 226 (11) and (11a).
TREATMENT_WORDS = {
    "zero": "zero rate",
    "exempt": "exempt",
    "reverse_charge": "Reverse charge: the customer accounts for the tax",
    "outside": "outside the tax",
}


@dataclass(frozen=True, kw_only=True)
class PaperLine:
    text: str
    quantity: str
    unit_price: str
    tax: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class PaperGroup:
    """Lines of one garden and day under one heading."""

    heading: str
    lines: Sequence[PaperLine]


@dataclass(frozen=True, kw_only=True)
class PaperTax:
    words: str
    net: str
    tax: str


@dataclass(frozen=True, kw_only=True)
class InvoicePaper:
    """All words of the paper, in order of the page."""

    title: str
    number: str
    is_draft: bool
    is_credit: bool
    shows_tax: bool
    prices_include_tax: bool
    seller: dict[str, Any]
    buyer: dict[str, Any]
    facts: Sequence[tuple[str, str]]
    groups: Sequence[PaperGroup]
    net: str
    taxes: Sequence[PaperTax]
    total: str
    prepaid: str
    left: str
    due: str
    reference: str
    remarks: Sequence[str]


def invoice_pdf(invoice: Invoice) -> bytes:
    """The paper as PDF/A bytes, on the client's size of paper."""
    paper = invoice_paper(invoice)
    return render(invoice_html(paper), paper=paper.buyer.get("paper") or "A4", variant=ARCHIVAL)


def invoice_html(paper: InvoicePaper) -> str:
    return render_to_string("business/documents/invoice.html", {"paper": paper})


def invoice_paper(invoice: Invoice) -> InvoicePaper:
    """What the paper says, from an invoice with its lines."""
    profile = our_profile()
    lines = list(invoice.lines.all())
    seller = invoice.seller or seller_of(profile)
    is_credit = invoice.kind == Invoice.Kind.CREDIT_NOTE
    return InvoicePaper(
        title="Credit note" if is_credit else "Invoice",
        number=invoice.number,
        is_draft=invoice.is_draft,
        is_credit=is_credit,
        shows_tax=bool(seller["tax_number"]),
        prices_include_tax=invoice.prices_include_tax,
        seller=seller,
        buyer=invoice.buyer or buyer_of(invoice.client, profile),
        facts=_facts(invoice),
        groups=_groups(invoice, lines),
        net=money_text(invoice.net, invoice.currency),
        taxes=taxes_on_paper(lines, invoice.currency, seller["tax_label"]),
        total=money_text(invoice.gross, invoice.currency),
        prepaid=money_text(-invoice.prepaid, invoice.currency) if invoice.prepaid else "",
        left=money_text(invoice.gross - invoice.prepaid, invoice.currency),
        due=day_text(invoice.due_on) if invoice.due_on else "",
        reference=invoice.number,
        remarks=_remarks(invoice, lines, seller),
    )


def _facts(invoice: Invoice) -> list[tuple[str, str]]:
    facts = [("Date", day_text(invoice.issued_on) if invoice.issued_on else "not issued yet")]
    if invoice.work_from and invoice.work_until:
        facts.append(("Work done", days_text(invoice.work_from, invoice.work_until)))
    facts.append(("Client number", (invoice.buyer or {}).get("code") or invoice.client.code))
    if reference := (invoice.buyer or {}).get("buyer_reference"):
        # The column of facts never breaks a line; a long reference stands in several.
        facts += [("Your reference" if not row else "", words) for row, words in enumerate(wrap(reference, 28))]
    if invoice.credits is not None and invoice.credits.issued_on:
        facts.append(("Credits invoice", f"{invoice.credits.number} of {day_text(invoice.credits.issued_on)}"))
    elif invoice.due_on:
        facts.append(("To be paid by", day_text(invoice.due_on)))
    return facts


def _groups(invoice: Invoice, lines: Sequence[InvoiceLine]) -> list[PaperGroup]:
    groups = []
    for (day, place), members in groupby(lines, key=lambda line: (line.done_on, line.place)):
        heading = ", ".join(word for word in (place, day_text(day) if day else "") if word)
        groups.append(
            PaperGroup(
                heading=heading,
                lines=[line_on_paper(line, invoice.currency, invoice.prices_include_tax) for line in members],
            )
        )
    return groups


def line_on_paper(line: InvoiceLine | QuoteLine, currency: str, includes_tax: bool) -> PaperLine:
    """One line in words; a lump sum names neither quantity nor price."""
    is_lump = line.unit == "lump"
    return PaperLine(
        text=line.text,
        quantity=quantity_text(line.quantity, line.unit),
        unit_price="" if is_lump else money_text(line.unit_price, currency),
        tax=percent_text(line.tax_percent),
        amount=money_text(line.gross if includes_tax else line.net, currency),
    )


def taxes_on_paper(lines: Iterable[InvoiceLine | QuoteLine], currency: str, label: str) -> list[PaperTax]:
    """One row for each treatment and rate, the highest rate first."""
    by_kind: dict[tuple[Decimal, str], list[Taxed]] = {}
    for line in lines:
        kind = (line.tax_percent, line.tax_treatment)
        by_kind.setdefault(kind, []).append(Taxed(net=line.net, tax=line.tax, gross=line.gross))
    rows = []
    for (rate, treatment), parts in sorted(by_kind.items(), key=lambda item: (-item[0][0], item[0][1])):
        sums = sum_of(parts)
        words = f"{label} {percent_text(rate)}"
        if treatment in TREATMENT_WORDS:
            words = f"{words}, {TREATMENT_WORDS[treatment]}"
        rows.append(PaperTax(words=words, net=money_text(sums.net, currency), tax=money_text(sums.tax, currency)))
    return rows


def _remarks(invoice: Invoice, lines: Sequence[InvoiceLine], seller: dict[str, Any]) -> list[str]:
    remarks = []
    if invoice.reason:
        remarks.append(f"Reason: {invoice.reason}")
    if invoice.note:
        remarks.append(invoice.note)
    exempt_words = seller.get("exempt_words", "")
    if exempt_words and any(line.tax_treatment == "exempt" for line in lines):
        remarks.append(f"Exempt from {seller['tax_label']}: {exempt_words}")
    if not seller["tax_number"]:
        remarks.append(f"No {seller['tax_label']} is charged: the business is not registered for it.")
    elif any(line.tax_treatment == "reverse_charge" for line in lines):
        customer = (invoice.buyer or {}).get("tax_number") or invoice.client.tax_number
        number = f" Customer's number: {customer}." if customer else ""
        remarks.append(f"Reverse charge: the customer accounts for the {seller['tax_label']}.{number}")
    return remarks
