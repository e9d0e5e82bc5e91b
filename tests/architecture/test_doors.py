"""Every page answers to the right people only; the pages are found, not listed, so that none is forgotten."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.urls import reverse

from business.templatetags.face import TABS
from tests.architecture.addresses import addresses

# Open to anybody: the door itself, and what a scoped link opens (a link nobody signed gets 404).
OPEN = {"sign-in", "sign-out", "link-new", "service-worker", "field-manifest", "health", "ready"}
# Opened by a client's link: without one there is nothing there for anybody, the owner included.
BY_LINK = {"garden-account", "garden-account-paper", "garden-contact", "garden-door"}
# Not there until a setting switches it on (tests/deploy/test_metrics.py).
SWITCHED_OFF = {"metrics"}
# Pages that are reckoned from the address itself: there is one for every number.
RECKONED = {"season-year"}
# What a crew has no business with: other people's plans, money and mail.
OFFICE_ONLY = {"season", "clients", "invoices", "messages", "rules"}
REFUSED = {302, 303, 401, 403, 404, 405, 410}
ALL = addresses()
# A tab appears once its page exists (business.templatetags.face).
SHOWN = [tab for tab in TABS if tab.url_name in {address.name for address in ALL}]


@pytest.mark.django_db
@pytest.mark.parametrize("address", ALL, ids=lambda address: address.name)
def test_nobody_gets_in_without_signing_in(client, address):
    if address.name in OPEN:
        return
    for ask in (client.get, client.post):
        answer = ask(address.path)
        assert answer.status_code in REFUSED
        if answer.status_code in {302, 303}:
            assert answer["Location"].startswith(reverse(settings.LOGIN_URL))


@pytest.mark.parametrize("address", [one for one in ALL if not one.has_places], ids=lambda address: address.name)
def test_the_owner_sees_every_page_of_an_empty_book(at_owner, address):
    answer = at_owner.get(address.path)
    assert answer.status_code in ({404} if address.name in BY_LINK | SWITCHED_OFF else {200, 302, 405})


@pytest.mark.parametrize("address", [one for one in ALL if one.has_places], ids=lambda address: address.name)
def test_what_does_not_exist_is_answered_with_404(at_owner, address):
    expected = {200, 404} if address.name in RECKONED else {404, 405}
    assert at_owner.get(address.path).status_code in expected


@pytest.mark.parametrize("tab", [tab for tab in SHOWN if tab.url_name in OFFICE_ONLY], ids=lambda tab: tab.url_name)
def test_a_crew_is_kept_out_of_office_pages(at_crew, tab):
    assert at_crew.get(reverse(tab.url_name)).status_code in {302, 403, 404}


@pytest.mark.parametrize("tab", [tab for tab in SHOWN if "field" in tab.doors], ids=lambda tab: tab.url_name)
def test_a_crew_sees_its_own_pages(at_crew, tab):
    assert at_crew.get(reverse(tab.url_name)).status_code == 200


@pytest.mark.parametrize("tab", SHOWN, ids=lambda tab: tab.url_name)
def test_an_accountant_sees_money_pages_only(client, accountant, tab):
    client.force_login(accountant)
    expected = {200} if "books" in tab.doors else {302, 403, 404}
    assert client.get(reverse(tab.url_name)).status_code in expected


@pytest.mark.django_db
def test_personal_pages_carry_the_content_policy(at_office):
    answer = at_office.get(reverse("today"))
    policy = answer["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'self'" in policy
