"""Clients, contacts and their telephone numbers."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from business.errors import BadInput, Stale
from business.models import Client, Contact
from business.queries.clients import clients_for_list, search_clients
from business.services.clients import end_links, next_client_code, save_client, set_contacts, version_of
from business.services.phones import international
from tests import make

pytestmark = pytest.mark.django_db


def test_a_new_client_gets_the_next_free_number():
    save_client(code="C-0007", name="Ivo Hale")

    assert save_client(name="Mara Quill").code == "C-0008"
    assert next_client_code() == "C-0009"


def test_a_number_in_use_is_refused_and_names_its_owner():
    save_client(code="H-1", name="Ivo Hale")

    with pytest.raises(BadInput) as refusal:
        save_client(code="h-1", name="Mara Quill")

    assert "belongs to Ivo Hale" in refusal.value.faults[0].wrong
    assert Client.objects.count() == 1


def test_the_table_itself_refuses_a_second_owner_of_a_number():
    make.client(code="H-1")

    with pytest.raises(IntegrityError), transaction.atomic():
        Client(code="h-1", name="Mara Quill").save()


def test_every_wrong_value_of_a_client_is_told_at_once():
    with pytest.raises(BadInput) as refusal:
        save_client(name="", email="not an address", country="England")

    assert {fault.where for fault in refusal.value.faults} >= {"client, name", "client, email", "client, country"}
    assert not Client.objects.exists()


def test_changing_what_somebody_else_changed_meanwhile_is_refused():
    client = make.client()
    seen = version_of(client)
    save_client(client=client, notes="Ring before ten.")

    with pytest.raises(Stale):
        save_client(client=client, seen=seen, notes="Ring after ten.")

    client.refresh_from_db()
    assert client.notes == "Ring before ten."


def test_a_change_keeps_what_is_not_given():
    client = make.client(notes="Dog", greeting="Dear Ivo")

    save_client(client=client, name="Ivo B. Hale")

    client.refresh_from_db()
    assert (client.name, client.notes, client.salutation) == ("Ivo B. Hale", "Dog", "Dear Ivo")


@pytest.mark.parametrize("words", ["eva zeman", "ÉVA", "lower wallop", "+441632", "t-9"])
def test_clients_are_found_without_accents_or_capitals(words):
    wanted = make.client(code="T-9", name="Éva Zemánková", phone="01632 960123", address="1 Mill Street\nLower Wallop")
    make.client(code="X-1", name="Ivo Hale", address="The Barn", email="")

    assert list(search_clients(Client.objects.all(), words)) == [wanted]


@pytest.mark.parametrize("clients", [1, 20])
def test_the_list_takes_one_query_however_many_clients(clients, django_assert_num_queries):
    make.profile()
    for _ in range(clients):
        make.invoice(client=make.client(), amounts=("10.00",))
    make.charge(client=Client.objects.earliest("pk"))

    with django_assert_num_queries(1):
        rows: list[Any] = list(clients_for_list(Client.objects.all()))

    assert sum(row.open_amount for row in rows) == 12 * clients
    assert sum(row.open_charges for row in rows) == 1


def test_contacts_become_exactly_those_given():
    client = make.client()
    set_contacts(client=client, contacts=[{"name": "Ann", "phone": "01632 960001"}, {"name": "Bob"}])

    set_contacts(client=client, contacts=[{"name": "Ann", "role": "head gardener"}, {"name": "Cleo"}])

    assert list(client.contacts.values_list("name", "role")) == [("Ann", "head gardener"), ("Cleo", "")]
    assert client.contacts.get(name="Ann").phone == "+441632960001"


@pytest.mark.parametrize(
    "contacts",
    [[{"name": "Ann"}, {"name": "Ann"}], [{"name": "Ann"}, {"name": "Bob", "gets_invoice_mail": True}]],
    ids=["twice", "mail without address"],
)
def test_contacts_that_cannot_be_leave_the_old_ones(contacts):
    client = make.client()
    make.contact(client=client, name="Old")

    with pytest.raises(BadInput):
        set_contacts(client=client, contacts=contacts)

    assert list(Contact.objects.values_list("name", flat=True)) == ["Old"]


def test_ending_links_raises_the_serial():
    client = make.client()

    assert end_links(client=client) == 2


@pytest.mark.parametrize(
    ("typed", "country", "stored"),
    [
        ("01632 960123", "GB", "+441632960123"),
        ("+44 (0)1632 960123", "GB", "+441632960123"),
        ("0044 1632 960123", "DE", "+441632960123"),
        ("030 23125 456", "DE", "+493023125456"),
        ("(202) 555-0143", "US", "+12025550143"),
        ("ask at the pub", "GB", "ask at the pub"),
        ("01632 960123 ext 4", "GB", "01632 960123 ext 4"),
        ("0123", "XX", "0123"),
    ],
)
def test_phones_become_international_where_their_form_is_known(typed, country, stored):
    # Numbers from the ranges kept free for drama: Ofcom 01632 960, Bundesnetzagentur 030 23125, NANPA 555-01xx.
    assert international(typed, country=country) == stored
