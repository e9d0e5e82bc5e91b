"""In by a link, out again, and mail stopped with one click."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test import TestCase
from django.test.utils import CaptureQueriesContext
from django.urls import get_resolver, reverse

from business.models import ChangeNote, Message
from business.services.client_links import SESSION_KEY, link_token, stop_token
from business.services.clients import end_links
from business.services.messages import _mail
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


# A new link, asked for by whoever has lost theirs.


def ask(browser: Browser, email: str, **more):
    with TestCase.captureOnCommitCallbacks(execute=True):  # what is queued runs once the row is committed
        return browser.post(reverse("link-new"), {"email": email}, **more)


def shown(answer) -> tuple[int, str]:
    """What the page says, without the form token, which differs every time."""
    return answer.status_code, re.sub(r"[A-Za-z0-9]{64}", "", answer.content.decode())


def test_an_ended_link_leads_to_a_new_one(client, rosa):
    token = link_token(rosa)
    end_links(client=rosa)
    assert f'href="{reverse("link-new")}"' in client.get(reverse("link-open", args=[token])).content.decode()

    assert ask(client, "Rosa@Example.com").status_code == 200

    message = Message.objects.get()
    assert (message.kind, message.to) == ("garden_link", "rosa@example.com")
    opened = re.search(r"/open/(\S+)", _mail(message).body)[1]
    assert Browser().get(reverse("link-open", args=[opened])).status_code == 302


def test_known_and_unknown_addresses_get_one_answer(rosa):
    known, unknown = (shown(ask(Browser(), mail)) for mail in ("rosa@example.com", "nobody@example.com"))
    assert known == unknown
    assert Message.objects.count() == 1


def test_the_page_does_the_same_for_every_address(rosa, monkeypatch):
    """The look into the book happens in a job: time tells nothing."""
    jobs, queries = [], {}
    monkeypatch.setattr("business.views.links.later", lambda name, **given: jobs.append((name, given)))
    for mail in ("rosa@example.com", "nobody@example.com"):
        with CaptureQueriesContext(connection) as captured:
            ask(Browser(), mail)
        queries[mail] = [re.sub(r"'[^']*'|s\d+_x\d+|= \d+", "?", query["sql"]) for query in captured]
    assert queries["rosa@example.com"] == queries["nobody@example.com"]
    assert not any("business_client" in sql for sql in queries["rosa@example.com"])
    assert jobs == [("business.tasks.send_asked_links", {"email": mail}) for mail in queries]


def test_asking_often_sends_once_a_day_and_waits(rosa):
    browser = Browser()
    statuses = [ask(browser, "rosa@example.com").status_code for _ in range(7)]
    assert statuses == [200] * 5 + [429] * 2
    assert Message.objects.count() == 1
    assert ask(Browser(), "rosa@example.com", REMOTE_ADDR="198.51.100.9").status_code == 200


def test_one_address_does_not_try_many_mails(rosa, monkeypatch):
    monkeypatch.setattr("business.services.sign_in.MOST_FROM_AN_ADDRESS", 4)
    answers = [ask(Browser(), f"name{number}@example.com").status_code for number in range(6)]
    assert answers == [200] * 4 + [429] * 2


def test_looking_at_the_page_asks_for_nothing(rosa, client):
    for method in (client.get, client.head):
        assert method(reverse("link-new"), {"email": "rosa@example.com"}).status_code == 200
    assert not Message.objects.exists()


@pytest.mark.parametrize("mail", ["", "rosa", "rosa@example.com\nBcc: x@example.com", "a" * 300 + "@example.com"])
def test_what_is_no_address_is_refused_in_words(rosa, client, mail):
    assert ask(client, mail).status_code == 422
    assert not Message.objects.exists()


def test_whoever_is_no_client_any_more_gets_no_link(rosa, client):
    rosa.is_active = False
    rosa.save()
    ask(client, "rosa@example.com")
    assert not Message.objects.exists()


def test_the_form_for_a_new_link_needs_its_token(rosa):
    assert ask(Browser(enforce_csrf_checks=True), "rosa@example.com").status_code == 403
