"""Versions of an offer: what changed, and which one a client may still accept."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from business.queries.quotes import changes_since_last_version, quote_by_id
from business.services.quote_links import quote_token
from business.services.quotes import Offered, change_quote, send_quote
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def versions():
    make.profile()
    lines = [
        Offered(text="Posts and wires", unit_price=Decimal(480)),
        Offered(text="Six pears", unit_price=Decimal(40), quantity=Decimal(6), unit="tree"),
        Offered(text="Waste", unit_price=Decimal(25)),
    ]
    first = send_quote(quote=make.quote(lines=lines))
    second = change_quote(
        quote=first,
        lines=[lines[0], Offered(text="Six pears", unit_price=Decimal(38), quantity=Decimal(6), unit="tree"),
               Offered(text="Edging", unit_price=Decimal(60))],
    )  # fmt: skip
    return quote_by_id(first.pk), quote_by_id(second.pk)


def test_lines_added_changed_and_dropped_are_told(versions):
    first, second = versions

    told = {
        change.text: (change.before and change.before.net, change.now and change.now.net)
        for change in changes_since_last_version(second)
    }

    assert told == {
        "Six pears": (Decimal(240), Decimal(228)),
        "Edging": (None, Decimal(60)),
        "Waste": (Decimal(25), None),
    }
    assert changes_since_last_version(first) == []


def test_the_office_sees_what_changed(at_office, versions):
    page = at_office.get(reverse("quote", args=[versions[1].pk])).content.decode()

    assert "no longer offered" in page
    assert "was £288.00" in page


def test_an_old_link_leads_to_the_newer_version_once_sent(client, versions):
    first, second = versions
    address = reverse("quote-answer", args=[quote_token(first)])
    assert "comes by mail" in client.get(address).content.decode()

    send_quote(quote=second)
    page = client.get(address).content.decode()

    newer = reverse("quote-answer", args=[quote_token(second)])
    assert newer in page
    assert "Send the answer" not in page
    assert "Send the answer" in client.get(newer).content.decode()


def test_a_replaced_version_cannot_be_accepted(client, versions):
    first, _ = versions
    answer = client.post(
        reverse("quote-answer", args=[quote_token(first)]), {"accepts": "yes", "name": "Ivo", "words": ""}
    )

    assert answer.status_code == 422
    assert quote_by_id(first.pk).state == "replaced"
