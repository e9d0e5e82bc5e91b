"""In by a link, out again, and mail stopped with one click."""

from __future__ import annotations

import re

import pytest
from django.test import Client as Browser
from django.urls import get_resolver, reverse

from business.models import ChangeNote, Message
from business.services.client_links import SESSION_KEY, link_token, stop_token
from business.services.clients import end_links
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def rosa():
    make.profile()
    return make.client(name="Rosa Quill", email="rosa@example.com")


def test_opening_a_link_swaps_it_for_a_clean_address(client, rosa):
    token = link_token(rosa)
    answer = client.get(reverse("link-open", args=[token]))

    assert answer.status_code == 302
    assert token not in answer["Location"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer["Cache-Control"]
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer.cookies["sessionid"]["httponly"]
    assert token not in str(answer.cookies)


def test_robots_that_open_links_change_nothing(rosa):
    token = link_token(rosa)
    for ask in (Browser().get, Browser().head, Browser().get):
        assert ask(reverse("link-open", args=[token])).status_code == 302
    assert Browser().post(reverse("link-open", args=[token])).status_code == 405

    rosa.refresh_from_db()
    assert (rosa.link_serial, rosa.stopped_kinds) == (1, [])


def test_wrong_ended_and_foreign_links_look_the_same(client, rosa):
    ended = link_token(rosa)
    end_links(client=rosa)
    rosa.refresh_from_db()

    def page(token):
        # The token of forms is masked anew each time.
        return re.sub(r'"X-CSRFToken": "\w+"', "", client.get(reverse("link-open", args=[token])).content.decode())

    pages = {page(token) for token in (ended, "x", stop_token(rosa, "reminder"))}
    assert len(pages) == 1
    assert client.get(reverse("link-open", args=[ended])).status_code == 404


def test_leaving_takes_the_key_off_the_device(client, rosa):
    client.get(reverse("link-open", args=[link_token(rosa)]))
    assert SESSION_KEY in client.session

    assert client.post(reverse("link-leave")).status_code == 200
    assert SESSION_KEY not in client.session


def test_one_click_stops_a_kind_without_cookies(rosa):
    """RFC 8058, section 3.2: a POST with this body, no cookies, no question asked."""
    stranger = Browser(enforce_csrf_checks=True)
    address = reverse("mail-stop", args=[stop_token(rosa, "reminder")])

    assert stranger.post(address, {"List-Unsubscribe": "One-Click"}).status_code == 200

    rosa.refresh_from_db()
    assert rosa.stopped_kinds == ["reminder"]


def test_looking_at_the_stop_page_stops_nothing(client, rosa):
    address = reverse("mail-stop", args=[stop_token(rosa, "reminder")])
    for ask in (client.get, client.head, client.get):
        assert ask(address).status_code == 200
    rosa.refresh_from_db()
    assert rosa.stopped_kinds == []


def test_a_changed_stop_link_stops_nothing(client, rosa):
    other = make.client()
    token = stop_token(rosa, "reminder")
    forged = stop_token(other, "reminder").split(":")[0] + ":" + token.split(":", 1)[1]

    assert client.post(reverse("mail-stop", args=[forged])).status_code == 404
    for kind in ("invoice", "nonsense"):
        assert client.post(reverse("mail-stop", args=[stop_token(rosa, kind)])).status_code == 404
    assert not any(row.stopped_kinds for row in (rosa, other))


def test_only_the_stop_link_goes_without_the_form_token():
    def exempt(resolver, found):
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                exempt(entry, found)
            elif getattr(entry.callback, "csrf_exempt", False):
                found.add(entry.name)
        return found

    assert exempt(get_resolver(), set()) == {"mail-stop"}


def test_the_office_makes_sends_and_ends_links(at_office, rosa):
    page = at_office.post(reverse("client-link", args=[rosa.pk]))
    address = page.context["garden_link"]
    assert address in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    path = "/" + address.split("/", 3)[3]
    assert Browser().get(path).status_code == 302

    at_office.post(reverse("client-link-send", args=[rosa.pk]))
    assert Message.objects.get().to == "rosa@example.com"

    at_office.post(reverse("client-links-end", args=[rosa.pk]))
    assert Browser().get(path).status_code == 404
    assert list(ChangeNote.objects.filter(reference=f"client:{rosa.pk}").values_list("act", flat=True))[:2] == [
        "links ended",
        "link sent",
    ]


@pytest.mark.parametrize("name", ["client-link", "client-link-send", "client-links-end"])
def test_nobody_but_the_office_deals_in_links(client, rosa, accountant, crew, name):
    for person in (accountant, crew):
        client.force_login(person)
        assert client.post(reverse(name, args=[rosa.pk])).status_code == 404
    assert not Message.objects.exists()
