"""Write the paper of an issued invoice, keep it, and mail it."""

from __future__ import annotations

from django.db import transaction

from business.documents.e_invoice import MEDIA_TYPE, e_invoice_xml, invoice_hybrid_pdf
from business.documents.e_invoice_terms import missing_for_e_invoice
from business.documents.invoices import invoice_pdf
from business.documents.words import day_text, money_text
from business.errors import BadInput, Fault
from business.models import ArchivedDocument, EInvoice, Invoice, Message, Staff
from business.queries.clients import contacts_of
from business.queries.documents import newest_document
from business.queries.invoices import invoice_by_id
from business.services.archive import Paper, archive
from business.services.messages import queue_message

E_INVOICE = "e_invoice"
"""Kind of the XML in the archive."""


def write_invoice_paper(*, invoice_id: int) -> ArchivedDocument:
    """The kept paper of an issued invoice or credit note; rendered the first time, the same bytes ever after.

    Raises:
        BadInput: it is still a draft, or a text asks for what a paper may not have.
    """
    invoice = invoice_by_id(invoice_id)
    if invoice.is_draft:
        raise BadInput([Fault(str(invoice), "is a draft and has no paper yet", "issue it first")])
    if invoice.document is not None:
        return invoice.document
    # Rendering takes a while: no lock is held meanwhile. Two renderings at once give one paper, the first one kept.
    content = invoice_pdf(invoice)
    wanted = invoice.buyer.get("e_invoice", EInvoice.OFF)
    if wanted == EInvoice.HYBRID:
        content = invoice_hybrid_pdf(invoice, content)
    elif wanted != EInvoice.OFF:
        write_e_invoice(invoice_id=invoice_id, syntax=wanted)
    with transaction.atomic():
        locked = Invoice.objects.select_for_update().get(pk=invoice_id)
        if locked.document is not None:
            return locked.document
        paper = Paper(
            kind=invoice.kind,
            reference=f"invoice:{invoice.pk}",
            file_name=f"{invoice.kind.replace('_', '-')}-{invoice.number}.pdf",
            content=content,
        )
        locked.document = archive(paper, client=invoice.client, by=invoice.issued_by)
        locked.save(update_fields=["document"])
    return locked.document


def write_e_invoice(*, invoice_id: int, syntax: str) -> ArchivedDocument:
    """The kept XML of an issued invoice or credit note in one syntax; written the first time, the same bytes ever after.

    Raises:
        BadInput: it is still a draft, or something the standard asks for is missing (each named).
    """
    invoice = invoice_by_id(invoice_id)
    if invoice.is_draft:
        raise BadInput([Fault(str(invoice), "is a draft and has no paper yet", "issue it first")])
    reference = f"invoice:{invoice.pk}:{syntax}"
    if (kept := newest_document(E_INVOICE, reference)) is not None:
        return kept
    if faults := missing_for_e_invoice(invoice, list(invoice.lines.all()), seller=invoice.seller, buyer=invoice.buyer):
        raise BadInput(faults)
    content = e_invoice_xml(invoice, syntax="ubl" if syntax == EInvoice.UBL else "cii")
    paper = Paper(
        kind=E_INVOICE,
        reference=reference,
        file_name=f"{invoice.kind.replace('_', '-')}-{invoice.number}-{syntax}.xml",
        content=content,
        media_type=MEDIA_TYPE,
    )
    with transaction.atomic():
        # Written from frozen rows, two at once wrote the same bytes; the row of the invoice is the gate all the same.
        Invoice.objects.select_for_update().get(pk=invoice_id)
        return newest_document(E_INVOICE, reference) or archive(paper, client=invoice.client, by=invoice.issued_by)


def draft_paper(*, invoice: Invoice) -> bytes:
    """A draft as it would look; kept nowhere."""
    return invoice_pdf(invoice)


def mail_invoice(*, invoice: Invoice, by: Staff | None = None) -> list[Message]:
    """Mail an issued invoice or credit note with its paper, to the contacts who get invoices or else to the client.

    Asked twice, it sends once.

    Raises:
        BadInput: it is a draft, or nobody has a mail address.
    """
    documents = [write_invoice_paper(invoice_id=invoice.pk)]
    invoice = invoice_by_id(invoice.pk)
    if (wanted := invoice.buyer.get("e_invoice")) in (EInvoice.CII, EInvoice.UBL):
        documents.append(write_e_invoice(invoice_id=invoice.pk, syntax=wanted))
    addresses = [contact.email for contact in contacts_of(invoice.client) if contact.gets_invoice_mail]
    addresses = addresses or [invoice.client.email] * bool(invoice.client.email)
    if not addresses:
        raise BadInput([Fault(invoice.client.name, "has no mail address", "enter one, or send the paper by post")])
    return [
        queue_message(
            key=f"invoice:{invoice.pk}:{address}",
            kind=invoice.kind,
            client=invoice.client,
            to=address,
            subject=f"{_name(invoice)} {invoice.number} from {invoice.seller['name']}",
            body=_letter(invoice),
            documents=documents,
            may_repeat=True,
        )
        for address in addresses
    ]


def _name(invoice: Invoice) -> str:
    return "Credit note" if invoice.kind == Invoice.Kind.CREDIT_NOTE else "Invoice"


def _letter(invoice: Invoice) -> str:
    seller = invoice.seller
    total = money_text(invoice.gross, invoice.currency)
    if invoice.kind == Invoice.Kind.CREDIT_NOTE and invoice.credits is not None:
        ask = f"With the attached credit note {invoice.number} we take {total} off invoice {invoice.credits.number}."
    else:
        due = day_text(invoice.due_on) if invoice.due_on else ""
        ask = (
            f"Invoice {invoice.number} over {total} is attached. Pay it by {due} and give the number {invoice.number}."
        )
    ways = [f"ring {seller['phone']}"] * bool(seller["phone"]) + ["answer this mail"]
    parts = [
        f"{invoice.client.salutation},",
        ask,
        f"If something is unclear, {' or '.join(ways)}.",
        seller["name"],
    ]
    return "\n\n".join(parts) + "\n"
