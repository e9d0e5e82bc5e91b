"""The client's door: one client never sees another's, and looking changes nothing."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from itertools import count

import pytest
from django.test import Client as Browser
from django.urls import get_resolver, reverse

from business import clock
from business.models import ChangeNote, Message
from business.services.archive import Paper, archive
from business.services.client_links import CALENDAR, SESSION_KEY, link_token
from business.services.clients import end_links
from business.services.quotes import send_quote
from scheduling.models import ClientAsk, SeasonReview, Visit, VisitReport
from scheduling.services.visits import call_off_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db


YEARS = count(2024)
WITHOUT_NUMBER = {"garden-door", "garden-contact", "garden-account", "garden-account-paper"}
"""Pages that show the client whose key the browser holds, whatever is asked."""


class Household:
    """One client with everything a door can show."""

    def __init__(self, name: str) -> None:
        self.client = make.client(name=name, email=f"{name.lower()}@example.com", phone="01632 960222")
        self.site = make_garden.site(
            client=self.client, name=f"{name}'s garden", access_notes=f"Gate code of {name}", address="1 Hill\nThorn"
        )
        self.tree = make_garden.tree(support=make_garden.support(site=self.site), label=f"Pear of {name}")
        self.on = clock.now().date() + timedelta(days=9)
        self.visit = make_garden.visit(site=self.site, on=self.on)
        self.done = make_garden.visit(site=self.site, on=date(2026, 3, 3))
        self.done.state, self.done.finished_at = Visit.State.FINISHED, make_garden.utc(2026, 3, 3, 15)
        self.done.save()
        paper = Paper(
            kind="visit_report",
            reference=f"visit:{self.done.pk}",
            file_name=f"report-{name}.pdf",
            content=f"report of {name}".encode(),
        )
        VisitReport.objects.create(visit=self.done, document=archive(paper, client=self.client), written_at=clock.now())
        self.invoice = make.invoice(client=self.client)
        self.quote = send_quote(quote=make.quote(client=self.client, title=f"Six pears for {name}"))
        paper = Paper(
            kind="season_review",
            reference=f"client:{self.client.pk}:season:{next(YEARS)}",
            file_name=f"season-{name}.pdf",
            content=f"season of {name}".encode(),
        )
        # Each household has a year of its own, so that another's address finds nothing.
        self.review = SeasonReview.objects.create(
            client=self.client,
            year=int(paper.reference.rpartition(":")[2]),
            document=archive(paper, client=self.client),
            made_at=clock.now(),
        )

    def own_addresses(self) -> dict[str, str]:
        return {
            "garden-tree": reverse("garden-tree", args=[self.tree.pk]),
            "garden-agree": reverse("garden-agree", args=[self.visit.pk]),
            "garden-move": reverse("garden-move", args=[self.visit.pk]),
            "garden-report": reverse("garden-report", args=[self.done.pk]),
            "garden-invoice": reverse("garden-invoice", args=[self.invoice.pk]),
            "garden-offer": reverse("garden-offer", args=[self.quote.pk]),
            "garden-offer-paper": reverse("garden-offer-paper", args=[self.quote.pk]),
            "garden-review": reverse("garden-review", args=[self.review.year]),
        }

    def enter(self) -> Browser:
        browser = Browser()
        assert browser.get(reverse("link-open", args=[link_token(self.client)])).status_code == 302
        return browser


@pytest.fixture
def rosa():
    make.profile()
    return Household("Rosa")


@pytest.fixture
def otto(rosa):
    return Household("Otto")


def door_addresses() -> set[str]:
    def walk(resolver):
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                yield from walk(entry)
            elif entry.name and entry.name.startswith("garden-"):
                yield entry.name

    return set(walk(get_resolver()))


def test_every_address_of_the_door_is_tried_below(rosa):
    assert door_addresses() == {*rosa.own_addresses(), *WITHOUT_NUMBER, "garden-calendar"}


def test_a_client_sees_what_is_theirs(rosa):
    browser = rosa.enter()
    for name, address in rosa.own_addresses().items():
        assert browser.get(address).status_code == 200, name
    assert b"report of Rosa" in browser.get(rosa.own_addresses()["garden-report"]).content
    assert browser.get(rosa.own_addresses()["garden-invoice"]).content.startswith(b"%PDF")
    page = browser.get(reverse("garden-door")).content.decode()
    for words in ("Pear of Rosa", "Rosa&#x27;s garden", rosa.invoice.number, "<svg", "The day suits me"):
        assert words in page
    assert "Gate code" not in page


def test_no_client_sees_anything_of_another(rosa, otto):
    browser = rosa.enter()
    for name, address in otto.own_addresses().items():
        for ask in (browser.get, browser.post):
            answer = ask(address, {"words": "x", "revision": "0"})
            assert answer.status_code in {404, 405}, name
            assert b"Otto" not in answer.content
    for name in sorted(WITHOUT_NUMBER):
        page = browser.get(reverse(name)).content.decode(errors="replace")
        assert "Otto" not in page
        assert otto.invoice.number not in page
    assert b"Otto" not in browser.get(reverse("garden-calendar", args=[link_token(rosa.client, CALENDAR)])).content
    otto.visit.refresh_from_db()
    assert otto.visit.state == Visit.State.PLANNED
    assert not ClientAsk.objects.exists()


def test_the_door_opens_nothing_of_the_office(rosa):
    browser = rosa.enter()
    for address in (
        reverse("today"),
        reverse("client", args=[rosa.client.pk]),
        reverse("tree", args=[rosa.tree.pk]),
        reverse("visit", args=[rosa.visit.pk]),
        reverse("invoice", args=[rosa.invoice.pk]),
    ):
        assert browser.get(address).status_code == 302


def test_without_a_key_every_address_is_missing(rosa, client, at_owner):
    for browser in (Browser(), at_owner):
        for address in [*rosa.own_addresses().values(), *map(reverse, WITHOUT_NUMBER)]:
            assert browser.get(address).status_code == 404


def test_ended_links_end_open_doors_and_feeds(rosa):
    browser, feed = rosa.enter(), reverse("garden-calendar", args=[link_token(rosa.client, CALENDAR)])
    assert browser.get(reverse("garden-door")).status_code == 200

    end_links(client=rosa.client)

    assert browser.get(reverse("garden-door")).status_code == 404
    assert browser.get(rosa.own_addresses()["garden-invoice"]).status_code == 404
    assert Browser().get(feed).status_code == 404


def test_a_second_link_changes_the_client_whole(rosa, otto):
    browser = rosa.enter()
    browser.get(reverse("link-open", args=[link_token(otto.client)]))

    assert "Rosa" not in browser.get(reverse("garden-door")).content.decode()
    assert browser.get(rosa.own_addresses()["garden-tree"]).status_code == 404


def test_pages_of_the_door_are_kept_nowhere(rosa):
    browser = rosa.enter()
    for address in [reverse("garden-door"), reverse("garden-contact"), *rosa.own_addresses().values()]:
        answer = browser.get(address)
        assert "no-store" in answer["Cache-Control"], address
        assert "noindex" in answer["X-Robots-Tag"], address
        # "no-referrer" would send forms from "null", which the check of tokens refuses over https.
        assert answer["Referrer-Policy"] == "same-origin", address


def test_a_draft_and_a_suggestion_are_not_shown(rosa):
    draft = make.draft(client=rosa.client)
    suggestion = make_garden.visit(site=rosa.site)
    browser = rosa.enter()

    assert browser.get(reverse("garden-invoice", args=[draft.pk])).status_code == 404
    assert browser.get(reverse("garden-agree", args=[suggestion.pk])).status_code == 404


def test_robots_that_follow_every_link_change_nothing(rosa):
    browser = rosa.enter()
    seen, waiting = set(), [reverse("garden-door")]
    while waiting:
        address = waiting.pop()
        seen.add(address)
        answer = browser.get(address)
        assert browser.head(address).status_code == answer.status_code == 200
        if "html" in answer["Content-Type"]:
            found = re.findall(r'href="(/garden/[^"#]*)"', unescape(answer.content.decode()))
            waiting += [one for one in set(found) - seen if one not in waiting]

    assert set(rosa.own_addresses().values()) <= seen
    rosa.visit.refresh_from_db()
    assert (rosa.visit.state, rosa.visit.revision) == (Visit.State.PLANNED, 0)
    assert not ClientAsk.objects.exists()


def test_agreeing_asks_first_and_happens_once(rosa):
    browser, address = rosa.enter(), rosa.own_addresses()["garden-agree"]
    shown = re.search(r'name="revision" value="(\d+)"', browser.get(address).content.decode())[1]

    assert browser.post(address, {"revision": shown}).status_code == 302

    rosa.visit.refresh_from_db()
    assert rosa.visit.state == Visit.State.CONFIRMED
    note = ChangeNote.objects.get(reference=f"visit:{rosa.visit.pk}")
    assert note.by_words == "the client, by their link"
    assert browser.post(address, {"revision": shown}).status_code == 422
    rosa.visit.refresh_from_db()
    assert rosa.visit.revision == 1


@pytest.mark.parametrize("sent", [{}, {"revision": "7"}, {"revision": "x"}, {"revision": "-1"}])
def test_a_day_that_was_not_shown_is_not_agreed(rosa, sent):
    answer = rosa.enter().post(rosa.own_addresses()["garden-agree"], sent)

    assert answer.status_code == 422
    rosa.visit.refresh_from_db()
    assert rosa.visit.state == Visit.State.PLANNED


def test_forms_of_the_door_need_their_token(rosa):
    strict = Browser(enforce_csrf_checks=True)
    strict.get(reverse("link-open", args=[link_token(rosa.client)]))

    for name in ("garden-agree", "garden-move"):
        assert strict.post(rosa.own_addresses()[name], {"revision": "0", "words": "x"}).status_code == 403
    assert strict.post(reverse("garden-contact"), {"words": "x"}).status_code == 403


def test_asking_to_move_tells_the_office_once(rosa):
    browser, address = rosa.enter(), rosa.own_addresses()["garden-move"]
    for _ in range(2):
        assert browser.post(address, {"words": "Any Friday."}).status_code == 302

    ask = ClientAsk.objects.get()
    assert (ask.client, ask.visit, ask.words) == (rosa.client, rosa.visit, "Any Friday.")
    assert Message.objects.get(kind="client_ask").to == "office@hollis.example.com"
    rosa.visit.refresh_from_db()
    assert rosa.visit.state == Visit.State.PLANNED
    assert "You asked for another day" in browser.get(reverse("garden-door")).content.decode()


def test_an_empty_wish_is_refused_in_words(rosa):
    answer = rosa.enter().post(rosa.own_addresses()["garden-move"], {"words": "  "})
    assert answer.status_code == 422
    assert "Write which days would suit you" in answer.content.decode()


def test_a_visit_called_off_meanwhile_is_said_so(rosa):
    browser = rosa.enter()
    call_off_visit(visit_id=rosa.visit.pk, reason="rain")

    assert browser.post(rosa.own_addresses()["garden-move"], {"words": "Friday"}).status_code == 422
    assert browser.post(rosa.own_addresses()["garden-agree"], {"revision": "1"}).status_code == 422
    assert "Called off: rain" in browser.get(rosa.own_addresses()["garden-agree"]).content.decode()


def test_nobody_floods_the_office_with_wishes(rosa):
    browser = rosa.enter()
    answers = [browser.post(reverse("garden-contact"), {"words": f"wish {n}"}).status_code for n in range(12)]
    assert answers == [302] * 10 + [422] * 2
    assert ClientAsk.objects.count() == 10


def test_contact_data_is_shown_and_not_changed(rosa):
    browser = rosa.enter()
    page = browser.get(reverse("garden-contact")).content.decode()
    assert "rosa@example.com" in page

    browser.post(reverse("garden-contact"), {"words": "New number", "email": "evil@example.com", "phone": "1"})

    rosa.client.refresh_from_db()
    assert rosa.client.email == "rosa@example.com"
    assert ClientAsk.objects.get().kind == "contact"


def test_words_of_clients_are_shown_as_typed(rosa, client, office):
    rosa.enter().post(rosa.own_addresses()["garden-move"], {"words": '"><script>x()</script>{{ 7 }}'})
    client.force_login(office)

    page = client.get(reverse("today")).content.decode()

    assert "&lt;script&gt;x()&lt;/script&gt;{{ 7 }}" in page
    assert "<script>x()" not in page


def test_the_office_settles_a_wish_once(rosa, client, office, crew):
    rosa.enter().post(reverse("garden-contact"), {"words": "New number"})
    address = reverse("ask-settle", args=[ClientAsk.objects.get().pk])
    client.force_login(crew)
    assert client.post(address).status_code == 404
    client.force_login(office)

    assert client.post(address).status_code == 302
    assert client.post(address).status_code == 404
    assert ClientAsk.objects.get().settled_by == office


def test_the_key_in_the_session_is_no_token(rosa):
    token = link_token(rosa.client)
    browser = Browser()
    browser.get(reverse("link-open", args=[token]))

    assert token not in str(dict(browser.session))
    assert browser.session[SESSION_KEY][:2] == [rosa.client.pk, 1]


def test_an_offer_is_read_and_accepted_at_the_door(rosa):
    browser, address = rosa.enter(), reverse("garden-offer", args=[rosa.quote.pk])
    assert "Six pears for Rosa" in browser.get(reverse("garden-door")).content.decode()
    rosa.quote.refresh_from_db()
    assert browser.get(address).status_code == 200
    rosa.quote.refresh_from_db()
    assert rosa.quote.state == "sent"

    assert browser.post(address, {"accepts": "yes", "name": ""}).status_code == 422
    assert browser.post(address, {"accepts": "yes", "name": "Rosa"}).status_code == 302
    rosa.quote.refresh_from_db()
    assert (rosa.quote.state, rosa.quote.decided_by) == ("accepted", "Rosa")
    assert "You said yes" in browser.get(reverse("garden-door")).content.decode()
    assert browser.post(address, {"accepts": "no", "name": "Rosa"}).status_code == 422


def test_the_account_shows_what_was_charged_and_paid(rosa):
    make.payment(invoice=rosa.invoice, amount=rosa.invoice.gross)
    browser = rosa.enter()
    asked = {"since": "2026-01-01", "until": "2026-12-31", "currency": "GBP"}
    page = browser.get(reverse("garden-account"), asked).content.decode()
    assert f"Invoice {rosa.invoice.number}" in page
    assert "All is settled" in page
    assert browser.get(reverse("garden-account-paper"), asked).content.startswith(b"%PDF")
    assert browser.get(reverse("garden-account"), {**asked, "until": "2025-01-01"}).status_code == 422
    assert browser.get(reverse("garden-account-paper"), {**asked, "currency": "EUR"}).status_code == 404
