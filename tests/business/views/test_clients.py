"""The pages of clients."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from business.models import Agreement, Client, Payment
from business.queries.clients import balance_of
from tests import make

pytestmark = pytest.mark.django_db


def text(answer) -> str:
    return str(answer.content.decode())


def test_before_there_is_anything_the_list_says_what_to_do(at_office):
    page = text(at_office.get(reverse("clients")))

    assert "No client yet" in page
    assert reverse("client-new") in page


def test_the_list_is_filtered_by_words_and_keeps_them(at_office):
    make.client(name="Éva Zemánková")
    make.client(name="Ivo Hale")

    page = text(at_office.get(reverse("clients"), {"words": "zeman"}))

    assert "Éva Zemánková" in page
    assert "Ivo Hale" not in page
    assert 'value="zeman"' in page
    assert "1 client<" in page.replace("\n", "")


def test_long_lists_are_paged_and_keep_the_filter(at_office):
    for number in range(55):
        make.client(name=f"Hale {number:02}")

    first = text(at_office.get(reverse("clients"), {"words": "hale"}))
    second = text(at_office.get(reverse("clients"), {"words": "hale", "page": 2}))

    assert "1–50 of 55" in first
    assert "words=hale&amp;page=2" in first
    assert "Hale 54" in second


def test_the_list_comes_as_a_file_that_a_book_can_take_back(at_office):
    make.client(code="H-1", name="=HYPERLINK(1)", address="Line 1\nLine 2")

    answer = at_office.get(reverse("clients"), {"as": "csv"})

    assert answer["Content-Type"].startswith("text/csv")
    content = answer.content.decode("utf-8-sig")
    assert content.splitlines()[0].startswith("code,name,kind")
    assert "'=HYPERLINK(1)" in content


@pytest.mark.parametrize("clients", [1, 20])
def test_the_list_needs_as_many_queries_for_many_as_for_one(at_office, clients, django_assert_max_num_queries):
    make.profile()
    for _ in range(clients):
        make.invoice(amounts=("5",))

    with django_assert_max_num_queries(7):
        at_office.get(reverse("clients"))


def test_a_new_client_is_stored_and_shown(at_office):
    answer = at_office.post(
        reverse("client-new"),
        {"name": "Ivo Hale", "address": "The Barn", "country": "gb", "phone": "01632 960123", "is_active": "on"},
        follow=True,
    )

    client = Client.objects.get()
    assert (client.code, client.country, client.phone) == ("C-0001", "GB", "+441632960123")
    assert "is now a client, number C-0001" in text(answer)


def test_wrong_input_comes_back_with_what_was_typed(at_office):
    make.client(code="H-1", name="Ada Quill")

    answer = at_office.post(reverse("client-new"), {"name": "Ivo Hale", "code": "h-1", "is_active": "on"})

    assert answer.status_code == 422
    page = text(answer)
    assert "H-1 belongs to Ada Quill: use C-0001." in page
    assert 'value="Ivo Hale"' in page
    assert "<title>Error:" in page
    assert Client.objects.count() == 1


def test_two_people_changing_a_client_at_once_lose_nothing(at_office):
    client = make.client(name="Ivo Hale")
    address = reverse("client-edit", args=[client.pk])
    seen = at_office.get(address).context["form"].initial["seen"]
    values = {"name": "Ivo Hale", "code": client.code, "is_active": "on", "seen": seen}
    at_office.post(address, {**values, "notes": "First"})

    second = at_office.post(address, {**values, "notes": "Second"})

    assert second.status_code == 422
    assert "changed by somebody else" in text(second)
    client.refresh_from_db()
    assert client.notes == "First"


def test_what_a_client_does_not_want_is_kept(at_office):
    client = make.client()

    at_office.post(
        reverse("client-edit", args=[client.pk]),
        {"name": client.name, "code": client.code, "is_active": "on", "stopped_kinds": ["reminder", "season_letter"]},
    )

    client.refresh_from_db()
    assert client.stopped_kinds == ["reminder", "season_letter"]


def test_contacts_are_stored_from_one_form(at_office):
    client = make.client()
    sent = {
        "contacts-TOTAL_FORMS": "2",
        "contacts-INITIAL_FORMS": "0",
        "contacts-0-name": "Ann",
        "contacts-0-role": "neighbour",
    }

    at_office.post(reverse("client-contacts", args=[client.pk]), sent)

    assert list(client.contacts.values_list("name", "role")) == [("Ann", "neighbour")]


def test_a_contact_who_gets_mail_needs_an_address(at_office):
    client = make.client()
    sent = {
        "contacts-TOTAL_FORMS": "1",
        "contacts-INITIAL_FORMS": "0",
        "contacts-0-name": "Ann",
        "contacts-0-gets_invoice_mail": "on",
    }

    answer = at_office.post(reverse("client-contacts", args=[client.pk]), sent)

    assert answer.status_code == 422
    assert not client.contacts.exists()


def agreement_values(**values):
    return {"basis": "by_visit", "valid_from": "2026-01-01", "visit_price": "85", "tax_treatment": "standard", **values}


def test_an_agreement_is_stored_with_sensible_empty_boxes(at_office):
    client = make.client()

    answer = at_office.post(reverse("agreement-new", args=[client.pk]), agreement_values())

    assert answer.status_code == 302
    agreement = Agreement.objects.get()
    assert (agreement.visit_price, agreement.rounding_minutes, agreement.minimum_charge) == (
        Decimal(85),
        15,
        Decimal(0),
    )


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"visit_price": ""}, "Give the visit price"),
        ({"valid_until": "2025-12-31"}, "agreement ends after it begins"),
        ({"valid_from": "2026-06-01"}, "another one runs from 2026-03-01"),
    ],
)
def test_an_agreement_that_cannot_be_is_refused_in_words(at_office, values, said):
    client = make.client()
    make.agreement(client=client, valid_from=date(2026, 3, 1))

    answer = at_office.post(reverse("agreement-new", args=[client.pk]), agreement_values(**values))

    assert answer.status_code == 422
    assert said.casefold() in text(answer).casefold()
    assert Agreement.objects.count() == 1


def test_a_payment_recorded_twice_by_one_form_counts_once(at_office):
    invoice = make.invoice()
    sent = {"key": "form-1", "received_on": "2026-04-20", "amount": "50", "method": "bank"}

    for _ in range(2):
        at_office.post(reverse("client-payment", args=[invoice.client_id]), sent)

    assert Payment.objects.get().amount == 50


def test_a_payment_of_nothing_keeps_the_form_open(at_office):
    invoice = make.invoice()

    answer = at_office.post(
        reverse("client-payment", args=[invoice.client_id]),
        {"key": "k", "received_on": "2026-04-20", "amount": "0", "method": "bank"},
    )

    assert answer.status_code == 422
    assert not Payment.objects.exists()


def test_a_balance_is_put_to_invoices_or_paid_back(at_office):
    make.profile(tax_number="")
    client = make.client()
    make.payment(client=client, amount=Decimal(80))
    make.invoice(client=client, amounts=("50",))

    at_office.post(reverse("client-balance", args=[client.pk]))
    assert balance_of(client, currency="GBP") == 30

    too_much = at_office.post(
        reverse("client-refund", args=[client.pk]),
        {"key": "k1", "paid_on": "2026-05-01", "amount": "31", "method": "bank"},
    )
    assert too_much.status_code == 422
    at_office.post(
        reverse("client-refund", args=[client.pk]),
        {"key": "k2", "paid_on": "2026-05-01", "amount": "30", "method": "bank"},
    )
    assert balance_of(client, currency="GBP") == 0


def test_ending_links_is_one_press(at_office):
    client = make.client()

    at_office.post(reverse("client-links-end", args=[client.pk]))

    client.refresh_from_db()
    assert client.link_serial == 2


def test_html_in_a_client_s_words_is_shown_as_text(at_office):
    client = make.client(name="<script>alert(1)</script>", notes="<b>x</b>", address="<i>y</i>")

    page = text(at_office.get(reverse("client", args=[client.pk])))

    assert "<script>alert(1)" not in page
    assert "&lt;b&gt;x&lt;/b&gt;" in page
