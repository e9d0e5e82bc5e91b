"""Electronic invoices, judged by the published schema and rule files and to the cent by ourselves."""

from __future__ import annotations

import io
import re
from datetime import date
from decimal import Decimal

import pikepdf
import pytest

from business.documents.e_invoice import e_invoice_xml, written
from business.documents.e_invoice_terms import UNIT_CODES, terms_of, vat_number
from business.errors import BadInput
from business.models import Unit
from business.queries.invoices import invoice_by_id
from business.services.archive import content_of
from business.services.invoices import credit_invoice, issue_invoice
from business.services.papers import mail_invoice, write_e_invoice, write_invoice_paper
from tests import make
from tests.business.documents.papers import attachment_of, fonts_of, is_sound, text_of
from tests.business.documents.rule_files import broken_rules, values

pytestmark = pytest.mark.django_db

SYNTAXES = ("cii", "ubl")


def registered(**settings):
    given = {
        "e_invoice": "hybrid",
        "legal_number": "01234567",
        "bank_account": "GB33 BUKB 2020 1555 5555 55",
        "bank_code": "BUKBGB22",
        "exempt_words": "Directive 2006/112/EC article 132",
        **settings,
    }
    return make.profile(**given)


def xml_of(invoice, syntax):
    return e_invoice_xml(invoice_by_id(invoice.pk), syntax=syntax)


def several_rates():
    registered()
    make.tax_rate(treatment="reduced", percent=Decimal(5))
    client = make.client(buyer_reference="PO-77", email="")
    make.charge(client=client, unit="hour", quantity=Decimal("3.25"), unit_price=Decimal(36), place="Orchard House")
    make.charge(
        client=client, tax_treatment="reduced", unit="metre", quantity=Decimal("12.5"), unit_price=Decimal("2.125")
    )
    make.charge(client=client, tax_treatment="zero", unit="kilogram", unit_price=Decimal("9.99"))
    return make.invoice(client=client)


def exempt():
    registered()
    return make.invoice(tax_treatment="exempt")


def outside_the_tax():
    registered(tax_number="")
    return make.invoice(amounts=("30.00", "12.50"))


def reverse_charge():
    registered()
    return make.invoice(client=make.client(tax_number="IE 1234567X", country="IE"), tax_treatment="reverse_charge")


def with_a_discount():
    registered()
    client = make.client()
    make.charge(client=client, kind="discount", text="Discount 10 %", unit_price=Decimal("-10.00"))
    return make.invoice(client=client, amounts=("100.00", "33.33"))


def prices_with_the_tax_inside():
    registered(prices_include_tax=True)
    client = make.client()
    make.charge(client=client, unit="hour", quantity=Decimal("3.16667"), unit_price=Decimal("43.20"))
    return make.invoice(client=client, amounts=("0.03", "19.99"))


def paid_in_advance():
    registered()
    client = make.client()
    make.payment(client=client, amount=Decimal(50), received_on=date(2026, 3, 1))
    return issue_invoice(invoice=make.draft(client=client), issued_on=date(2026, 4, 1), uses_advance=True)


def without_an_account():
    registered(bank_account="", bank_code="")
    return make.invoice()


def in_euros_by_sepa():
    registered(country="DE", currency="EUR", tax_number="DE123456789", bank_account="DE89 3704 0044 0532 0130 00")
    return make.invoice()


def rounded_by_document():
    registered(tax_rounding="document")
    return make.invoice(amounts=("12.13", "7.49", "33.35", "0.99", "18.45"))


def many_lines_rounded_each():
    # 250 lines whose tax of 2.6 pence is rounded up: 1.00 more than the standard reckons.
    registered()
    return make.invoice(amounts=("0.13",) * 250)


def whole_credit_note():
    return credit_invoice(invoice=several_rates(), reason="Wrong garden", credited_on=date(2026, 5, 1))


def credit_note_of_a_part():
    invoice = with_a_discount()
    line = invoice.lines.order_by("-net").first()
    return credit_invoice(
        invoice=invoice, reason="Half done", amounts={line.pk: Decimal("50.00")}, credited_on=date(2026, 5, 1)
    )


CASES = [
    several_rates, exempt, outside_the_tax, reverse_charge, with_a_discount, prices_with_the_tax_inside,
    paid_in_advance, without_an_account, in_euros_by_sepa, rounded_by_document, many_lines_rounded_each,
    whole_credit_note, credit_note_of_a_part,
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.__name__)
def test_every_kind_of_paper_passes_schema_and_rules(case):
    # Factur-X 1.09 level EN 16931, UBL 2.1, rules of CEN/TC 434 (see rule_files).
    paper = case()
    xml = {syntax: xml_of(paper, syntax) for syntax in SYNTAXES}

    assert {syntax: broken_rules(xml[syntax], syntax) for syntax in SYNTAXES} == {"cii": [], "ubl": []}
    due = str((paper.gross - paper.prepaid).quantize(Decimal("0.01")))
    assert values(xml["cii"], "DuePayableAmount") == values(xml["ubl"], "PayableAmount") == [due]


@pytest.mark.parametrize("number", ["GB 999 9999 73", "XI 999999973", "EL 123456789", "FR 12 345678901"])
def test_numbers_of_many_countries_pass_the_rules(number):
    registered(tax_number=number)
    assert broken_rules(xml_of(make.invoice(), "ubl"), "ubl") == []


def test_a_tax_number_without_a_country_is_written_as_one():
    registered(tax_number="123/456/789")
    invoice = make.invoice()

    assert b'schemeID="FC">123/456/789' in xml_of(invoice, "cii")
    assert [broken_rules(xml_of(invoice, syntax), syntax) for syntax in SYNTAXES] == [[], []]
    assert vat_number("123/456/789") == ""


def test_a_credit_note_is_a_381_that_names_its_invoice():
    note = whole_credit_note()
    xml = xml_of(note, "cii")

    assert "381" in values(xml, "TypeCode")
    assert b"<ram:IssuerAssignedID>2026-00001</ram:IssuerAssignedID>" in xml
    assert b"<CreditNote" in xml_of(note, "ubl")


def test_discounts_are_allowances_of_their_rate():
    xml = xml_of(with_a_discount(), "cii")

    assert values(xml, "AllowanceTotalAmount") == ["10.00"]
    assert values(xml, "LineTotalAmount")[-1] == "133.33"
    assert values(xml, "TaxBasisTotalAmount") == ["123.33"]


def test_a_paper_of_discounts_alone_has_lines_below_zero():
    registered()
    client = make.client()
    invoice = make.invoice(client=client, amounts=("5.00",), tax_treatment="zero")
    line = invoice.lines.get()
    line.unit_price, line.net, line.gross, line.tax_percent, line.tax = (
        Decimal(n) for n in ("-5", "-5", "-5", "0", "0")
    )
    line.save()
    invoice = invoice_by_id(invoice.pk)

    terms = terms_of(invoice, list(invoice.lines.all()))

    assert (terms["BG-25"][0]["BT-129"], terms["BG-25"][0]["BT-146"]) == ("-1", "5.00")
    assert "BG-20" not in terms


def test_prices_inside_the_tax_are_told_for_the_whole_quantity():
    terms = terms_of((paper := invoice_by_id(prices_with_the_tax_inside().pk)), list(paper.lines.all()))
    line = next(line for line in terms["BG-25"] if line["BT-130"] == "HUR")

    # 3.16667 h at 43.20 are 136.80 with 20 % inside: 114.00 net.
    assert (line["BT-131"], line["BT-146"], line["BT-149"], line["BT-129"]) == (
        "114.00",
        "114.00",
        "3.16667",
        "3.16667",
    )


def test_far_strayed_tax_is_reckoned_anew_and_rounded_back():
    terms = terms_of((paper := invoice_by_id(many_lines_rounded_each().pk)), list(paper.lines.all()))

    # 250 × 0.13 = 32.50; the paper's tax is 250 × 0.03 = 7.50, the standard's 20 % of 32.50 = 6.50.
    assert (terms["BT-110"], terms["BT-112"], terms["BT-114"], terms["BT-115"]) == ("6.50", "39.00", "1.00", "40.00")
    assert paper.gross == Decimal("40.00")


def test_every_unit_has_a_code_of_recommendation_20():
    assert set(UNIT_CODES) == set(Unit.values)


@pytest.mark.parametrize(
    ("profile", "client", "line", "expected"),
    [
        ({"tax_number": "", "legal_number": ""}, {}, {}, ["your business, company number"]),
        ({"exempt_words": ""}, {}, {"tax_treatment": "exempt"}, ["your business, why exempt work is exempt"]),
        ({}, {"name": "Ivo"}, {"tax_treatment": "reverse_charge"}, ["Ivo, tax number"]),
        (
            {"electronic_address": "5790000435975"},
            {"name": "Ivo", "electronic_address": "123"},
            {},
            ["your business, kind of the address for e-invoices", "Ivo, kind of the address for e-invoices"],
        ),
        ({"currency": "KWD"}, {}, {}, ["currency KWD"]),
    ],
)
def test_what_is_missing_is_named_before_a_number_is_taken(profile, client, line, expected):
    registered(**profile)
    draft = make.draft(client=make.client(**client), **line)

    with pytest.raises(BadInput) as caught:
        issue_invoice(invoice=draft, issued_on=date(2026, 4, 1))

    assert [fault.where for fault in caught.value.faults] == expected
    draft.refresh_from_db()
    assert draft.is_draft
    make.profile(e_invoice="off")
    assert issue_invoice(invoice=draft, issued_on=date(2026, 4, 1)).number == "2026-00001"


def test_work_outside_the_tax_stands_on_a_paper_alone():
    registered()
    client = make.client()
    make.charge(client=client, tax_treatment="outside")

    with pytest.raises(BadInput) as caught:
        make.invoice(client=client)

    assert "[BR-O-11]" in caught.value.faults[0].wrong


def test_a_client_s_own_choice_goes_before_the_business_s():
    registered(e_invoice="off", legal_number="")
    make.tax_rate(treatment="reduced", percent=Decimal(5))
    off, ubl = make.invoice(), make.invoice(client=make.client(e_invoice="ubl"))

    assert (off.buyer["e_invoice"], ubl.buyer["e_invoice"]) == ("off", "ubl")
    assert [document.kind for document in mail_invoice(invoice=off)[0].documents.order_by("kind")] == ["invoice"]
    assert [document.file_name for document in mail_invoice(invoice=ubl)[0].documents.order_by("kind")] == [
        "invoice-2026-00002-ubl.xml",
        "invoice-2026-00002.pdf",
    ]


def test_the_xml_is_written_once_and_kept_with_its_hash():
    invoice = several_rates()
    first = write_e_invoice(invoice_id=invoice.pk, syntax="ubl")
    make.profile(legal_name="Another Ltd")

    again = write_e_invoice(invoice_id=invoice.pk, syntax="ubl")

    assert (again.pk, again.version, again.media_type) == (first.pk, 1, "application/xml")
    assert b"Another Ltd" not in content_of(again)


def test_signs_that_xml_cannot_hold_are_left_out():
    registered()
    invoice = make.invoice(client=make.client(name="Ágnes \x0b& <Lőrinc>"))

    xml = xml_of(invoice, "ubl")

    assert "Ágnes & <Lőrinc>" in values(xml, "RegistrationName")


def test_figures_that_do_not_add_up_are_never_written():
    registered()
    invoice = make.invoice()
    invoice.lines.update(quantity=Decimal(2), unit_price=Decimal(60))
    terms = terms_of((paper := invoice_by_id(invoice.pk)), list(paper.lines.all()))
    terms["BT-112"] = "121.00"

    # The price of all is told where quantity times price is not the amount; a wrong total breaks a rule.
    assert terms["BG-25"][0]["BT-149"] == "2"
    assert any("BR-CO-15" in rule for rule in broken_rules(written(terms, syntax="cii"), "cii"))


def test_a_long_reference_is_on_the_paper_in_several_lines(tmp_path):
    registered()
    client = make.client(buyer_reference="Estate office, ledger 4711, order of 12 March, cost centre 9")
    text = text_of(content_of(write_invoice_paper(invoice_id=make.invoice(client=client).pk)), tmp_path)

    assert re.search(r"Your reference\s+Estate office, ledger 4711,\n", text)
    assert "order of 12 March, cost" in text
    assert "centre 9" in text
    assert "Company number 01234567" in text


# The hybrid.


@pytest.fixture
def hybrid():
    return content_of(write_invoice_paper(invoice_id=several_rates().pk))


def test_the_hybrid_is_sound_and_embeds_its_type(hybrid, tmp_path):
    assert is_sound(hybrid, tmp_path)
    assert all(font.is_embedded for font in fonts_of(hybrid, tmp_path))
    assert "Invoice 2026-00001" in text_of(hybrid, tmp_path)
    assert len(hybrid) < 250_000


def test_the_hybrid_carries_the_xml_as_its_alternative(hybrid, tmp_path):
    xml = attachment_of(hybrid, "factur-x.xml", tmp_path)

    assert broken_rules(xml, "cii") == []
    with pikepdf.open(io.BytesIO(hybrid)) as pdf:
        (name,) = {str(spec.UF) for spec in pdf.Root.AF}
        assert name == "factur-x.xml"
        assert {str(spec.AFRelationship) for spec in pdf.Root.AF} == {"/Alternative"}
        spec = pdf.attachments["factur-x.xml"]
        assert spec.get_file().mime_type in ("text/xml", "application/xml")


def test_the_hybrid_claims_pdf_a_3_and_its_level(hybrid):
    # ISO 19005-3 clause 6.6; Factur-X 1.09 section 6 (names of the fx: schema).
    with pikepdf.open(io.BytesIO(hybrid)) as pdf:
        told = pdf.open_metadata()
        assert (told["pdfaid:part"], told["pdfaid:conformance"]) == ("3", "B")
        xmp = bytes(pdf.Root.Metadata.read_bytes()).decode()
        assert re.search(r"ConformanceLevel>\s*EN 16931\s*<", xmp)
        assert re.search(r"DocumentFileName>\s*factur-x.xml\s*<", xmp)
        assert pdf.Root.OutputIntents
        assert pdf.Root.MarkInfo.Marked
        assert not pdf.is_encrypted
        assert "/OpenAction" not in pdf.Root
        assert pdf.trailer.ID


def test_an_advance_is_taken_off_on_paper_and_xml(tmp_path):
    paper = paid_in_advance()
    content = content_of(write_invoice_paper(invoice_id=paper.pk))

    text = text_of(content, tmp_path)
    assert re.search(r"Paid in advance\s+−£50.00", text)
    assert re.search(r"Left to pay\s+£70.00", text)
    assert values(attachment_of(content, "factur-x.xml", tmp_path), "TotalPrepaidAmount") == ["50.00"]
