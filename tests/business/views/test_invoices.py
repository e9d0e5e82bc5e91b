"""The pages from charge to payment."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from business.models import ArchivedDocument, Charge, Invoice, Message, Payment
from business.services.billing import write_off
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def text(answer) -> str:
    return str(answer.content.decode())


def test_without_any_work_the_pages_say_what_comes_here(at_office):
    assert "No invoice yet" in text(at_office.get(reverse("invoices")))
    assert "Nothing waits to be charged" in text(at_office.get(reverse("charges")))
    assert "No price list yet" in text(at_office.get(reverse("prices")))
    assert "No mail yet" in text(at_office.get(reverse("messages")))


def test_before_the_business_has_a_name_the_page_asks_for_it(at_office):
    from business.models import BusinessProfile

    BusinessProfile.objects.all().delete()

    assert "need your business&#x27;s name and address" in text(at_office.get(reverse("invoices"))) or (
        "need your business's name and address" in text(at_office.get(reverse("invoices")))
    )


def test_from_charge_to_paid_in_the_office(at_office):
    """Gather, look, issue, pay: the whole way by its buttons."""
    make.charge(client=make.client(name="Ivo Hale"), unit_price=Decimal(85))

    at_office.post(reverse("charges-gather"), {"until": "2026-03-31"})
    draft = Invoice.objects.get()
    assert "Draft for Ivo Hale" in text(at_office.get(reverse("invoice", args=[draft.pk])))

    at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01"})
    page = text(at_office.get(reverse("invoice", args=[draft.pk])))
    assert "2026-00001" in page
    assert "£102.00" in page

    at_office.post(
        reverse("invoice-payment", args=[draft.pk]),
        {"key": "k", "received_on": "2026-04-20", "amount": "102", "method": "bank"},
    )
    draft.refresh_from_db()
    assert (draft.state, Payment.objects.count()) == ("paid", 1)


def test_pressing_issue_twice_shows_the_invoice_and_takes_one_number(at_office):
    draft = make.draft()
    presses = [
        at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01"}, follow=True)
        for _ in range(2)
    ]

    assert [answer.status_code for answer in presses] == [200, 200]
    assert Invoice.objects.get().number == "2026-00001"


def test_issuing_with_mail_puts_it_in_the_outbox(at_office):
    draft = make.draft()

    at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01", "mails": "on"})

    assert Message.objects.get().kind == "invoice"


def test_what_stands_against_issuing_is_told_on_the_page(at_office):
    draft = make.draft(client=make.client(address=""))

    answer = at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01"})

    assert answer.status_code == 422
    assert "has no billing address" in text(answer)


def test_the_paper_is_served_as_kept(at_office):
    invoice = make.invoice()

    first = at_office.get(reverse("invoice-pdf", args=[invoice.pk]))
    again = at_office.get(reverse("invoice-pdf", args=[invoice.pk]))

    assert first["Content-Type"] == "application/pdf"
    assert 'filename="invoice-2026-00001.pdf"' in first["Content-Disposition"]
    assert first.content == again.content
    assert first.content.startswith(b"%PDF-")


def test_a_paper_that_was_tampered_with_is_not_served(at_office):
    invoice = make.invoice()
    at_office.get(reverse("invoice-pdf", args=[invoice.pk]))
    document = ArchivedDocument.objects.get()
    with document.file.storage.open(str(document.file.name), "wb") as file:
        file.write(b"%PDF-1.7 forged")

    answer = at_office.get(reverse("invoice-pdf", args=[invoice.pk]))

    assert answer.status_code == 422
    assert "its bytes have changed" in text(answer)


def test_late_invoices_say_by_how_many_days(at_office):
    make.invoice(issued_on=date(2026, 4, 1))  # due 1 May

    with time_machine.travel("2026-05-13 10:00 +0000"):
        at_office.force_login(make.staff(role="office"))
        page = text(at_office.get(reverse("invoices"), {"standing": "late"}))

    assert "12 days late" in page


@pytest.mark.parametrize(
    ("standing", "shown"),
    [("draft", "Drawn"), ("open", "Owing"), ("paid", "Payer"), ("credit_note", "Credited"), ("credited", "Credited")],
)
def test_the_list_is_filtered_by_standing(at_office, standing, shown):
    from business.services.invoices import credit_invoice

    make.draft(client=make.client(name="Drawn"))
    make.invoice(client=make.client(name="Owing"), issued_on=date(2026, 4, 1))
    make.payment(
        invoice=make.invoice(client=make.client(name="Payer"), issued_on=date(2026, 4, 1)), amount=Decimal(120)
    )
    back = make.invoice(client=make.client(name="Credited"), issued_on=date(2026, 4, 1))
    credit_invoice(invoice=back, reason="x", credited_on=date(2026, 4, 2))

    page = text(at_office.get(reverse("invoices"), {"standing": standing}))
    table = page[page.index("<tbody>") : page.index("</tbody>")]

    names = {name for name in ("Drawn", "Owing", "Payer", "Credited") if f">{name}<" in table}
    assert names == {shown}


def test_the_list_finds_a_number_and_a_client(at_office):
    invoice = make.invoice(client=make.client(name="Éva Zemánková"))
    make.invoice(client=make.client(name="Ivo Hale"))

    for words in (invoice.number, "zeman"):
        page = text(at_office.get(reverse("invoices"), {"words": words}))
        assert "1 paper<" in page.replace("\n", "")
        assert "Éva" in page


def test_the_list_comes_as_a_file(at_office):
    make.invoice()

    rows = at_office.get(reverse("invoices"), {"as": "csv"}).content.decode("utf-8-sig").splitlines()

    assert rows[0].startswith("number,kind,client")
    assert "2026-04-01,2026-05-01,issued,GBP,100.000,20.000,120.000" in rows[1]


@pytest.mark.parametrize("invoices", [1, 15])
def test_the_list_needs_as_many_queries_for_many_as_for_one(at_office, invoices, django_assert_max_num_queries):
    for _ in range(invoices):
        make.invoice(amounts=("5",))

    with django_assert_max_num_queries(13):
        at_office.get(reverse("invoices"))


def test_a_draft_is_changed_by_its_buttons(at_office):
    draft = make.draft(amounts=("60", "40"))
    change = reverse("invoice-change", args=[draft.pk])

    at_office.post(change, {"act": "note", "note": "Thank you for the tea."})
    at_office.post(
        change,
        {"act": "add", "key": "k", "text": "Ladder hire", "done_on": "2026-03-12", "quantity": "1", "unit": "lump", "unit_price": "25",
         "tax_treatment": "standard"},
    )  # fmt: skip
    first = draft.lines.earliest("position")
    at_office.post(change, {"act": "take_off", "line": first.pk})
    lines = [line.pk for line in draft.lines.all()]
    at_office.post(change, {"act": "merge", "text": "All in one", "lines": lines})

    draft.refresh_from_db()
    assert (draft.note, draft.net, draft.lines.get().text) == ("Thank you for the tea.", Decimal(65), "All in one")


@pytest.mark.parametrize(
    "sent", [{"act": "add", "text": ""}, {"act": "merge", "lines": []}, {"act": "take_off", "line": "abc"}]
)
def test_wrong_changes_of_a_draft_come_back_with_the_page(at_office, sent):
    draft = make.draft(amounts=("60", "40"))

    answer = at_office.post(reverse("invoice-change", args=[draft.pk]), sent)

    assert answer.status_code == 422
    draft.refresh_from_db()
    assert draft.net == 100


def test_an_act_nobody_knows_is_not_there(at_office):
    assert at_office.post(reverse("invoice-change", args=[make.draft().pk]), {"act": "shred"}).status_code == 404


def test_an_issued_invoice_is_not_changed_by_a_stale_page(at_office):
    invoice = make.invoice()

    answer = at_office.post(reverse("invoice-change", args=[invoice.pk]), {"act": "drop"})

    assert answer.status_code == 422
    assert "credit it instead" in text(answer).casefold()


def test_crediting_part_of_a_line_from_the_page(at_office):
    invoice = make.invoice()
    line = invoice.lines.get()

    at_office.post(
        reverse("invoice-credit", args=[invoice.pk]),
        {"reason": "Broken branch", "credited_on": "2026-05-01", f"line_{line.pk}": "25"},
    )

    note = Invoice.objects.get(kind="credit_note")
    assert (note.gross, note.reason) == (Decimal(30), "Broken branch")
    assert "Credit note C2026-00001" in text(at_office.get(reverse("invoice", args=[note.pk])))


def test_crediting_too_much_is_told_beside_the_line(at_office):
    invoice = make.invoice()
    line = invoice.lines.get()

    answer = at_office.post(
        reverse("invoice-credit", args=[invoice.pk]),
        {"reason": "x", "credited_on": "2026-05-01", f"line_{line.pk}": "100.01"},
    )

    assert answer.status_code == 422
    assert "100.01 is more than is left" in text(answer)


def test_giving_up_and_splitting_charges(at_office, office):
    give, cut = make.charge(text="Gift"), make.charge(text="Half", unit_price=Decimal(100))

    at_office.post(reverse("charge-write-off", args=[give.pk]), {"reason": "Our mistake"})
    at_office.post(reverse("charge-split", args=[cut.pk]), {"first_amount": "30"})

    give.refresh_from_db()
    assert (give.write_off_reason, give.written_off_by) == ("Our mistake", office)
    assert sorted(Charge.objects.filter(text="Half").values_list("amount", flat=True)) == [30, 70]


@pytest.mark.parametrize("reason", ["", " "])
def test_giving_up_without_a_reason_is_refused(at_office, reason):
    charge = make.charge()

    assert at_office.post(reverse("charge-write-off", args=[charge.pk]), {"reason": reason}).status_code == 422


def test_a_charge_given_up_meanwhile_is_told(at_office, office):
    charge = make.charge()
    write_off(charge=charge, by=office, reason="x")

    answer = at_office.post(reverse("charge-split", args=[charge.pk]), {"first_amount": "1"})

    assert answer.status_code == 422
    assert "was written off" in text(answer)


def test_prices_and_rates_are_set_from_their_page(at_office):
    at_office.post(reverse("price-list-new"), {"name": "Everyday"})
    from business.models import PriceList, TaxRate

    price_list = PriceList.objects.get()
    sent = {
        "code": "hour",
        "text": "Hour of work",
        "unit": "hour",
        "net_price": "36",
        "valid_from": "2026-01-01",
        "tax_treatment": "standard",
    }
    at_office.post(reverse("price-new", args=[price_list.pk]), sent)
    at_office.post(reverse("tax-rate-new"), {"treatment": "reduced", "percent": "5", "valid_from": "2026-01-01"})

    page = text(at_office.get(reverse("price-list", args=[price_list.pk])))
    assert "£36.00 each hour" in page
    assert TaxRate.objects.get(treatment="reduced").percent == 5


def test_a_price_without_a_number_comes_back(at_office):
    price_list = make.price_list()

    answer = at_office.post(reverse("price-new", args=[price_list.pk]), {"code": "hour", "text": "Hour"})

    assert answer.status_code == 422
    assert not price_list.items.exists()


def test_html_in_a_charge_is_shown_as_text(at_office):
    draft = make.draft(text="<script>alert(1)</script>")

    for address in (reverse("invoice", args=[draft.pk]), reverse("charges")):
        assert "<script>alert(1)" not in text(at_office.get(address))
