"""Electronic invoices by EN 16931. The only module that knows the library that writes them.

Two syntaxes say the same: CII (UN/CEFACT) and UBL 2.1 (OASIS). A hybrid is a PDF/A-3 with the CII inside, at the level
of Factur-X that is EN 16931 itself.
"""

from __future__ import annotations

import copy
from typing import Any, Literal

from business.documents.e_invoice_terms import figures_of, terms_of
from business.models import Invoice
from business.money.amounts import minor_digits
from business.money.en16931 import wrong_cents

Syntax = Literal["cii", "ubl"]

LEVEL = "en16931"
FLAVOURS = {"cii": "factur-x", "ubl": "ubl-2.1"}
MEDIA_TYPE = "application/xml"


def e_invoice_xml(invoice: Invoice, *, syntax: Syntax) -> bytes:
    """The XML of an issued invoice or credit note that lacks nothing (``missing_for_e_invoice``).

    Every sum is checked to the cent first: the published rule files would let a whole unit pass. The library then
    checks the text against the schema of its syntax.

    Raises:
        ValueError: the figures do not add up. That is a fault of the program, never of what was typed.
    """
    lines = list(invoice.lines.all())
    if wrong := wrong_cents(figures_of(invoice, lines), digits=minor_digits(invoice.currency)):
        raise ValueError(f"invoice {invoice.number}: {'; '.join(wrong)}")
    return written(terms_of(invoice, lines), syntax=syntax)


def written(terms: dict[str, Any], *, syntax: Syntax) -> bytes:
    """Business terms by number as XML, checked against the schema."""
    # Imported here: it costs a quarter of a second and only workers and downloads need it.
    from facturx.generate_xml import generate_xml

    # The writer changes what it is given, and asks a rule server of its own unless told not to.
    content: bytes = generate_xml(
        copy.deepcopy(terms), flavor=FLAVOURS[syntax], level=LEVEL, check_xsd=True, check_schematron=False
    )
    # It writes the rounding of a UBL paper in euros whatever the currency.
    wrong = b'<cbc:PayableRoundingAmount currencyID="EUR">'
    return content.replace(wrong, wrong.replace(b"EUR", terms["BT-5"].encode()))


def invoice_hybrid_pdf(invoice: Invoice, pdf: bytes) -> bytes:
    """The paper of an issued invoice that lacks nothing, with its XML inside."""
    return hybrid_pdf(
        pdf,
        e_invoice_xml(invoice, syntax="cii"),
        title=f"{invoice.get_kind_display()} {invoice.number}",
        author=invoice.seller["name"],
        language=invoice.buyer.get("language") or "en",
    )


def hybrid_pdf(pdf: bytes, xml: bytes, *, title: str, author: str, language: str = "en") -> bytes:
    """A PDF/A-3 with the XML inside, as the alternative it is: both say the same.

    Args:
        pdf: PDF/A-3 as ``documents.pdf`` writes it (ARCHIVAL); the library relies on its colour profile.
        xml: CII of level EN 16931.
    """
    from facturx import generate_from_binary

    content: bytes = generate_from_binary(
        pdf,
        xml,
        flavor="factur-x",
        level=LEVEL,
        check_xsd=False,
        check_schematron=False,
        pdf_metadata={"author": author, "title": title, "subject": title, "keywords": "Factur-X, invoice"},
        lang=language,
        afrelationship="alternative",
    )
    return content
