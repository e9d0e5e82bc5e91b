"""What stands on an invoice and a credit note."""

from __future__ import annotations

import io
from datetime import date
from decimal import Decimal

import pikepdf
import pytest

from business.documents.invoices import invoice_html, invoice_paper, invoice_pdf
from business.documents.words import days_text, money_text, quantity_text
from business.services.invoices import credit_invoice
from business.services.papers import mail_invoice, write_invoice_paper
from tests import make
from tests.business.documents.papers import fonts_of, is_sound, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile()


@pytest.fixture
def invoice():
    client = make.client(code="H-7", name="Ágnes Lőrinc", address="Orchard House\n12 Mill Street")
    make.charge(
        client=client,
        place="Orchard House",
        text="Winter pruning",
        unit="hour",
        quantity=Decimal("3.25"),
        unit_price=Decimal(36),
        done_on=date(2026, 3, 12),
    )
    return make.invoice(client=client, amounts=("20.00",), issued_on=date(2026, 4, 1))


def test_the_paper_carries_what_the_law_asks_for(invoice, tmp_path):
    # Directive 2006/112/EC article 226; HMRC VAT Notice 700 section 16 asks for the same.
    text = text_of(invoice_pdf(invoice), tmp_path)

    for wanted in (
        "2026-00001",  # sequential number
        "1 April 2026",  # date of issue
        "12 March 2026",  # date of supply
        "Hollis & Daughter Ltd", "Thornbury Magna", "GB 999 9999 73",  # supplier, address, number
        "Ágnes Lőrinc", "12 Mill Street",  # customer and address
        "3 h 15 min", "£36.00", "£117.00",  # extent, unit price, taxable amount
        "20%", "VAT 20% on £137.00", "£27.40",  # rate and tax by rate
        "£164.40", "1 May 2026", "Account 01234567",  # total, due day, how to pay
    ):  # fmt: skip
        assert wanted in text, wanted


def test_the_paper_embeds_its_type_and_is_sound(invoice, tmp_path):
    content = invoice_pdf(invoice)

    assert all(font.is_embedded for font in fonts_of(content, tmp_path))
    assert {font.family.split("-")[0] for font in fonts_of(content, tmp_path)} == {"Paper"}
    assert is_sound(content, tmp_path)
    assert len(content) < 200_000


@pytest.mark.parametrize("field", ["name", "address", "text", "note", "reason", "place", "footer"])
def test_html_in_any_text_is_shown_as_text(field, tmp_path):
    bad = '<img src="http://127.0.0.1:9/x"><script>alert(1)</script>'
    # Long texts may be broken over lines; the opening of the tag is what must be seen.
    seen = "<img" if field != "footer" else "<img src="
    client = make.client(name=bad if field == "name" else "Ivo", address=bad if field == "address" else "The Barn")
    if field == "footer":
        make.profile(invoice_footer=bad)
    make.charge(
        client=client,
        text=bad if field == "text" else "Pruning",
        place=bad if field == "place" else "",
        unit_price=Decimal(5),
    )
    invoice = make.invoice(client=client)
    if field == "note":
        invoice.note = bad
    if field == "reason":
        invoice = credit_invoice(invoice=invoice, reason=bad, credited_on=date(2026, 5, 1))

    assert seen in text_of(invoice_pdf(invoice), tmp_path)


def test_prices_with_tax_inside_show_the_tax_below_the_total(tmp_path):
    make.profile(prices_include_tax=True)
    text = text_of(invoice_pdf(make.invoice(amounts=("100.00",))), tmp_path)

    assert "With VAT" in text
    assert "inside, on £83.33 net" in text
    assert "£16.67" in text


def test_a_business_that_is_not_registered_shows_no_tax(tmp_path):
    make.profile(tax_number="")
    text = text_of(invoice_pdf(make.invoice()), tmp_path)

    assert "not registered" in text
    assert "20%" not in text
    assert "VAT number" not in text


def test_reverse_charge_is_named_with_the_customer_s_number(tmp_path):
    client = make.client(tax_number="IE1234567X")
    text = text_of(invoice_pdf(make.invoice(client=client, tax_treatment="reverse_charge")), tmp_path)

    assert "Reverse charge" in text
    assert "IE1234567X" in text
    assert "£0.00" in text


def test_a_credit_note_names_invoice_day_and_reason(invoice, tmp_path):
    note = credit_invoice(invoice=invoice, reason="Wrong garden", credited_on=date(2026, 5, 1))

    text = text_of(invoice_pdf(note), tmp_path)

    for wanted in ("Credit note C2026-00001", "2026-00001 of 1 April 2026", "Reason: Wrong garden", "£164.40"):
        assert wanted in text, wanted
    assert "How to pay" not in text


def test_a_draft_says_that_it_is_one(tmp_path):
    text = text_of(invoice_pdf(make.draft()), tmp_path)

    assert "Draft. Not a bill" in text
    assert "How to pay" not in text


def test_long_invoices_repeat_heads_and_keep_totals_with_a_line(tmp_path):
    content = invoice_pdf(make.invoice(amounts=("12.50",) * 70))

    pages = text_of(content, tmp_path).split("\f")[:-1]
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert len(pdf.pages) == len(pages) >= 3
    assert all("What was done" in page for page in pages if "Winter pruning" in page)
    assert all(f"Page {number} of {len(pages)}" in page for number, page in enumerate(pages, start=1))
    (total_page,) = [page for page in pages if "Total to pay" in page]
    assert "Winter pruning" in total_page


def test_the_client_s_own_paper_size_is_used():
    invoice = make.invoice(client=make.client(paper="Letter"))

    with pikepdf.open(io.BytesIO(invoice_pdf(invoice))) as pdf:
        assert float(pdf.pages[0].mediabox[2]) == pytest.approx(612, abs=0.1)


def test_a_paper_is_written_once_and_kept(invoice):
    first = write_invoice_paper(invoice_id=invoice.pk)
    invoice.client.name = "Another"
    invoice.client.save()

    again = write_invoice_paper(invoice_id=invoice.pk)

    assert (again.pk, again.version, again.kind) == (first.pk, 1, "invoice")
    assert again.file_name == "invoice-2026-00001.pdf"


def test_two_renderings_of_an_invoice_are_the_same_bytes(invoice):
    assert invoice_pdf(invoice) == invoice_pdf(invoice)


def test_a_draft_has_no_kept_paper():
    from business.errors import BadInput

    with pytest.raises(BadInput):
        write_invoice_paper(invoice_id=make.draft().pk)


def test_mailing_twice_sends_once_to_those_who_get_invoices(invoice):
    make.contact(client=invoice.client, email="books@example.com", gets_invoice_mail=True)

    first = mail_invoice(invoice=invoice)
    again = mail_invoice(invoice=invoice)

    assert [message.to for message in first] == ["books@example.com"]
    assert first == again
    assert first[0].documents.get().kind == "invoice"
    assert "£164.40" in first[0].body


def test_an_invoice_for_somebody_without_mail_is_refused():
    from business.errors import BadInput

    invoice = make.invoice(client=make.client(email=""))

    with pytest.raises(BadInput) as refusal:
        mail_invoice(invoice=invoice)

    assert "by post" in refusal.value.faults[0].remedy


def test_the_html_needs_no_address_of_its_own(invoice):
    html = invoice_html(invoice_paper(invoice))

    assert "src=" not in html
    assert "href=" not in html


@pytest.mark.parametrize(
    ("amount", "currency", "words"),
    [("1234.5", "GBP", "£1,234.50"), ("-3", "EUR", "−€3.00"), ("1234", "CHF", "1,234.00 CHF"), ("0.425", "GBP", "£0.425"),
     ("1234.6", "JPY", "¥1,234.6"), ("1.5", "KWD", "1.500 KWD")],
)  # fmt: skip
def test_amounts_are_written_in_their_currency(amount, currency, words):
    assert money_text(Decimal(amount), currency) == words


@pytest.mark.parametrize(
    ("quantity", "unit", "words"),
    [("3.16667", "hour", "3 h 10 min"), ("0.75", "hour", "45 min"), ("2", "hour", "2 h"), ("1", "tree", "1 tree"),
     ("12", "tree", "12 trees"), ("4.50000", "metre", "4.5 m"), ("1", "lump", "")],
)  # fmt: skip
def test_quantities_are_written_as_people_say_them(quantity, unit, words):
    assert quantity_text(Decimal(quantity), unit) == words


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2026, 3, 3), date(2026, 3, 14), "3–14 March 2026"),
        (date(2026, 2, 28), date(2026, 3, 3), "28 February – 3 March 2026"),
        (date(2025, 12, 20), date(2026, 1, 4), "20 December 2025 – 4 January 2026"),
        (date(2026, 3, 3), date(2026, 3, 3), "3 March 2026"),
    ],
)
def test_ranges_of_days_are_written_once(first, last, words):
    assert days_text(first, last) == words
