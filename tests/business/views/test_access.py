"""Who may open which page. Forbidden and missing look alike."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from business.services.archive import Paper, archive
from tests import make

pytestmark = pytest.mark.django_db

MONEY_KINDS = (
    "invoices",
    "invoice",
    "invoice-pdf",
    "books",
    "books-table",
    "charges",
    "prices",
    "price-list",
    "agreement",
    "agreement-new",
)


@pytest.fixture
def addresses():
    """One address for every page that can be opened, by name."""
    make.profile()
    price_list = make.price().price_list
    client = make.client()
    agreement = make.agreement(client=client)
    invoice = make.invoice(client=client)
    message = make.message(client=client)
    document = archive(Paper(kind="invoice", reference="x", file_name="x.pdf", content=b"%PDF"))
    person = make.staff(role="crew")
    return {
        "clients": reverse("clients"),
        "client": reverse("client", args=[client.pk]),
        "client-new": reverse("client-new"),
        "client-edit": reverse("client-edit", args=[client.pk]),
        "client-contacts": reverse("client-contacts", args=[client.pk]),
        "agreement-new": reverse("agreement-new", args=[client.pk]),
        "agreement": reverse("agreement", args=[agreement.pk]),
        "charges": reverse("charges"),
        "price-list": reverse("price-list", args=[price_list.pk]),
        "invoices": reverse("invoices"),
        "invoice": reverse("invoice", args=[invoice.pk]),
        "invoice-pdf": reverse("invoice-pdf", args=[invoice.pk]),
        "books": reverse("books"),
        "books-table": reverse("books-table", args=["journal"]),
        "messages": reverse("messages"),
        "message": reverse("message", args=[message.pk]),
        "document": reverse("document", args=[document.pk]),
        "people": reverse("people"),
        "person": reverse("person", args=[person.pk]),
        "person-new": reverse("person-new"),
        "business-profile": reverse("business-profile"),
    }


def answers(client, addresses):
    return {name: client.get(address).status_code for name, address in addresses.items()}


def test_the_owner_opens_everything(client, owner, addresses):
    client.force_login(owner)

    assert set(answers(client, addresses).values()) == {200}


def test_the_office_opens_all_but_the_owner_s_pages(client, office, addresses):
    client.force_login(office)

    closed = {name for name, status in answers(client, addresses).items() if status != 200}
    assert closed == {"person", "person-new", "business-profile"}


@pytest.mark.parametrize("role", ["crew", "crew_lead"])
def test_crews_find_none_of_these_pages(client, role, addresses):
    client.force_login(make.staff(role=role))

    assert set(answers(client, addresses).values()) == {404}


def test_an_accountant_reads_the_books_and_changes_nothing(client, accountant, addresses):
    client.force_login(accountant)

    opened = {name for name, status in answers(client, addresses).items() if status == 200}
    assert opened == {
        "clients",
        "client",
        "charges",
        "price-list",
        "invoices",
        "invoice",
        "invoice-pdf",
        "books",
        "books-table",
        "messages",
        "message",
        "document",
    }
    page = client.get(addresses["invoice"]).content.decode()
    assert "Record a payment" not in page


def test_an_office_person_without_prices_sees_clients_but_no_money(client, addresses):
    client.force_login(make.staff(role="office", sees_prices=False))

    opened = answers(client, addresses)
    assert opened["clients"] == opened["client"] == 200
    assert {
        opened[name]
        for name in ("invoices", "invoice", "invoice-pdf", "charges", "price-list", "agreement", "document")
    } == {404}
    page = client.get(addresses["client"]).content.decode()
    assert "£" not in page
    assert "Agreement" not in page


def test_a_stranger_is_asked_to_sign_in(client, addresses):
    for address in addresses.values():
        answer = client.get(address)
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("sign-in"))


def test_missing_and_forbidden_look_alike(client, crew, addresses):
    client.force_login(crew)

    forbidden = client.get(addresses["invoice"])
    missing = client.get(reverse("invoice", args=[999_999]))

    assert forbidden.status_code == missing.status_code == 404
    token = re.compile(rb"[A-Za-z0-9]{64}")  # the form token differs at every answer
    assert token.sub(b"", forbidden.content) == token.sub(b"", missing.content)


@pytest.mark.parametrize(
    "name",
    [
        "invoice-issue",
        "invoice-mail",
        "invoice-payment",
        "invoice-credit",
        "invoice-change",
        "client-payment",
        "client-refund",
    ],
)
def test_acts_on_money_are_closed_to_all_but_the_office(client, crew, accountant, name):
    invoice = make.invoice()
    target = reverse(name, args=[invoice.client_id if name.startswith("client") else invoice.pk])

    for person in (crew, accountant):
        client.force_login(person)
        assert client.post(target).status_code == 404
    invoice.refresh_from_db()
    assert (invoice.state, invoice.paid) == ("issued", Decimal(0))


def test_acts_are_never_done_by_a_link(at_office):
    invoice = make.invoice()

    assert at_office.get(reverse("invoice-issue", args=[invoice.pk])).status_code == 405


def test_somebody_who_left_cannot_sign_in(client, office):
    office.is_active = False
    office.save()

    answer = client.post(reverse("sign-in"), {"username": "oriel", "password": "seven pears on a wall"})

    assert answer.status_code == 422
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("typed", ["oriel", "ORIEL", "oriel@example.com", " Oriel@Example.com "])
def test_sign_in_takes_name_or_mail_in_any_case(client, office, typed):
    answer = client.post(reverse("sign-in"), {"username": typed, "password": "seven pears on a wall"})

    assert answer.status_code == 302
    assert client.session["_auth_user_id"] == str(office.pk)


def test_a_wrong_password_tells_nothing_about_the_name(client, office):
    known = client.post(reverse("sign-in"), {"username": "oriel", "password": "wrong"})
    unknown = client.post(reverse("sign-in"), {"username": "nobody", "password": "wrong"})

    said = "Name and password do not belong together"
    assert said in known.content.decode()
    assert said in unknown.content.decode()
    assert known.status_code == unknown.status_code == 422
