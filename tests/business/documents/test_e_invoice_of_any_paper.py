"""Whatever the money core can total becomes an electronic invoice that keeps every rule."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from business.documents.e_invoice import written
from business.documents.e_invoice_terms import figures_of, terms_of
from business.models import Invoice, InvoiceLine
from business.money.amounts import line_amount
from business.money.en16931 import wrong_cents
from business.money.totals import Line, total_up
from tests.business.documents.rule_files import broken_rules

SELLER = {
    "name": "Hollis & Daughter",
    "address_lines": ["The Bothy", "High Lane"],
    "country": "GB",
    "tax_number": "GB 999 9999 73",
    "legal_number": "01234567",
    "exempt_words": "Directive 2006/112/EC article 132",
    "payment_lines": ["Ask us."],
    "email": "office@hollis.example.com",
}
BUYER = {
    "code": "H-7",
    "name": "Ágnes Lőrinc",
    "address_lines": ["12 Mill Street"],
    "country": "IE",
    "legal_number": "9",
}

taxed = st.tuples(
    st.sampled_from(["standard", "reduced", "zero", "exempt", "reverse_charge"]),
    st.sampled_from([Decimal("20"), Decimal("5"), Decimal("8.1"), Decimal("12.375"), Decimal(0)]),
).map(lambda kind: kind if kind[0] in ("standard", "reduced") else (kind[0], Decimal(0)))
a_line = st.tuples(
    taxed,
    st.decimals("0.00001", "400", places=5),
    st.decimals("-50", "500", places=3),
    st.sampled_from(["hour", "piece", "metre", "lump"]),
)
papers = st.fixed_dictionaries(
    {
        "lines": st.lists(a_line, min_size=1, max_size=12),
        "rounding": st.sampled_from(["line", "document"]),
        "includes_tax": st.booleans(),
        "currency": st.sampled_from(["GBP", "EUR", "JPY"]),
        "is_outside": st.integers(0, 9).map(lambda die: die == 0),
    }
)


def as_invoice(*, lines, rounding, includes_tax, currency, is_outside):
    digits = 0 if currency == "JPY" else 2
    kinds = [("outside", Decimal(0)) if is_outside else line[0] for line in lines]
    totals = total_up(
        [
            Line(
                amount=line_amount(quantity=quantity, unit_price=price, digits=digits),
                treatment=treatment,
                rate_percent=rate,
            )
            for (treatment, rate), (_, quantity, price, _) in zip(kinds, lines, strict=True)
        ],
        rounding=rounding,
        includes_tax=includes_tax,
        digits=digits,
    )
    invoice = Invoice(
        number="2026-00001",
        currency=currency,
        issued_on=date(2026, 4, 1),
        due_on=date(2026, 5, 1),
        prices_include_tax=includes_tax,
        net=totals.net,
        tax=totals.tax,
        gross=totals.gross,
        seller=SELLER,
        buyer=BUYER,
    )
    rows = [
        InvoiceLine(
            position=position,
            text="Work",
            quantity=quantity,
            unit=unit,
            unit_price=price,
            tax_treatment=treatment,
            tax_percent=rate,
            net=sums.net,
            tax=sums.tax,
            gross=sums.gross,
        )
        for position, ((treatment, rate), (_, quantity, price, unit), sums) in enumerate(
            zip(kinds, lines, totals.lines, strict=True), start=1
        )
    ]
    return invoice, rows


@settings(max_examples=40, deadline=None)
@given(papers)
def test_any_paper_keeps_all_rules_in_both_syntaxes(paper):
    invoice, rows = as_invoice(**paper)
    terms = terms_of(invoice, rows)

    assert {syntax: broken_rules(written(terms, syntax=syntax), syntax) for syntax in ("cii", "ubl")} == {
        "cii": [],
        "ubl": [],
    }


@settings(max_examples=300, deadline=None)
@given(papers)
def test_any_paper_adds_up_to_the_cent_and_keeps_what_is_due(paper):
    invoice, rows = as_invoice(**paper)
    figures = figures_of(invoice, rows)

    assert wrong_cents(figures, digits=0 if invoice.currency == "JPY" else 2) == ()
    assert figures.due == invoice.gross
    assert figures.net == invoice.net
