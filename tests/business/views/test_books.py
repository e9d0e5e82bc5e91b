"""The accountant's page, its files, and what an invoice's page offers beside."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from business.models import ChangeNote, LedgerAccount
from tests import make

pytestmark = pytest.mark.django_db
DAYS = {"first": "2026-01-01", "last": "2026-12-31"}


@pytest.fixture
def invoice():
    make.profile(e_invoice="hybrid", legal_number="01234567")
    return make.invoice(issued_on=date(2026, 4, 1))


def test_the_page_shows_tax_and_what_is_open(client, accountant, invoice):
    client.force_login(accountant)

    page = client.get(reverse("books"), DAYS).content.decode()

    assert "£120.00" in page
    assert "£20.00" in page
    assert "Add an account" not in page


@pytest.mark.parametrize("name", ["journal", "open-items", "tax"])
def test_each_table_is_a_download(at_office, invoice, name):
    answer = at_office.get(reverse("books-table", args=[name]), DAYS)

    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert name in answer["Content-Disposition"]
    assert "GBP" in answer.content.decode()


def test_days_in_the_wrong_order_are_refused_with_words(at_office):
    answer = at_office.get(reverse("books-table", args=["tax"]), {"first": "2026-02-01", "last": "2026-01-01"})

    assert answer.status_code == 422
    assert "lies before the first" in answer.content.decode()


def test_a_table_nobody_knows_is_not_there(at_office):
    assert at_office.get(reverse("books-table", args=["salaries"])).status_code == 404


def test_accounts_are_added_once_and_taken_out(at_office):
    said = {"role": "revenue", "percent": "20", "number": "4020", "name": "Revenue 20 %"}
    assert at_office.post(reverse("books-account-new"), said).status_code == 302
    assert at_office.post(reverse("books-account-new"), said | {"role": "money"}).status_code == 422
    account = LedgerAccount.objects.get()

    assert at_office.post(reverse("books-account-end", args=[account.pk])).status_code == 302
    assert not LedgerAccount.objects.exists()
    assert ChangeNote.objects.filter(act__startswith="account").count() == 2


def test_an_accountant_changes_no_account(client, accountant):
    client.force_login(accountant)
    assert client.post(reverse("books-account-new"), {}).status_code == 404


@pytest.mark.parametrize(("syntax", "root"), [("cii", b"CrossIndustryInvoice"), ("ubl", b"<Invoice")])
def test_the_invoice_s_page_leads_to_its_xml(at_office, invoice, syntax, root):
    address = reverse("invoice-xml", args=[invoice.pk, syntax])
    assert address in at_office.get(reverse("invoice", args=[invoice.pk])).content.decode()

    answer = at_office.get(address)

    assert answer["Content-Type"] == "application/xml"
    assert root in answer.content


def test_an_unknown_syntax_and_a_draft_have_no_xml(at_office, invoice):
    assert at_office.get(reverse("invoice-xml", args=[invoice.pk, "edi"])).status_code == 404
    assert at_office.get(reverse("invoice-xml", args=[make.draft().pk, "cii"])).status_code == 404


def test_what_keeps_the_xml_from_being_written_is_shown(at_office):
    make.profile(tax_number="")
    invoice = make.invoice()

    answer = at_office.get(reverse("invoice-xml", args=[invoice.pk, "cii"]))

    assert answer.status_code == 422
    assert "company number" in answer.content.decode()


def test_what_is_missing_is_shown_before_issuing(at_office):
    make.profile(e_invoice="ubl", tax_number="")
    draft = make.draft()

    answer = at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01"})

    assert answer.status_code == 422
    assert "company number" in answer.content.decode()


def test_the_rest_is_given_up_and_asked_for_again(at_office, invoice):
    make.payment(invoice=invoice, amount=Decimal(50))
    said = {"key": "one", "reason": "Gone abroad", "on": "2026-09-01"}

    for _ in range(2):
        assert at_office.post(reverse("invoice-give-up", args=[invoice.pk]), said).status_code == 302
    invoice.refresh_from_db()
    assert (invoice.state, invoice.open_amount) == ("given_up", 0)
    assert "Given up" in at_office.get(reverse("invoice", args=[invoice.pk])).content.decode()

    assert at_office.post(reverse("invoice-ask-again", args=[invoice.pk]), {"reason": "Back"}).status_code == 302
    invoice.refresh_from_db()
    assert (invoice.state, invoice.open_amount) == ("part_paid", Decimal(70))


def test_an_advance_is_taken_off_when_the_box_is_ticked(at_office):
    make.profile()
    draft = make.draft()
    make.payment(client=draft.client, amount=Decimal(30), received_on=date(2026, 3, 1))

    at_office.post(reverse("invoice-issue", args=[draft.pk]), {"issued_on": "2026-04-01", "uses_advance": "on"})

    draft.refresh_from_db()
    assert (draft.prepaid, draft.paid, draft.state) == (Decimal(30), Decimal(30), "part_paid")
