"""The client's calendar feed, read back by a calendar library and held against RFC 5545."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse
from icalendar import Calendar

from business import clock
from business.services.client_links import CALENDAR, GARDEN, link_token
from scheduling.services.visits import call_off_visit, confirm_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit():
    make.profile(name="Hollis; Daughter, & Söhne")
    site = make_garden.site(
        name="Größe-Gärten am langen, langen Weg; hinter dem alten Brauhaus – Süd",
        address="Hof 1\nZeile 2",
        access_notes="Code 4711",
        client=make.client(email="rosa@example.com"),
    )
    return make_garden.visit(site=site, on=clock.now().date() + timedelta(days=5), note="bites")


def read(client, visit, **headers):
    token = link_token(visit.site.client, CALENDAR)
    return client.get(reverse("garden-calendar", args=[token]), **headers)


def event_of(answer):
    (event,) = Calendar.from_ical(answer.content).walk("VEVENT")
    return event


def test_the_feed_says_what_readers_need(client, visit):
    answer = read(client, visit)
    event = event_of(answer)

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert event["UID"] == f"visit-{visit.pk}@127.0.0.1"
    assert event["SEQUENCE"] == 0
    assert event["STATUS"] == "TENTATIVE"
    assert event.decoded("DTSTART") == visit.on
    # RFC 5545, 3.6.1: the end is not part of the event.
    assert event.decoded("DTEND") == visit.on + timedelta(days=1)
    assert event.decoded("DTSTAMP").tzinfo is not None
    feed = Calendar.from_ical(answer.content)
    assert feed["VERSION"] == "2.0"
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT12H" in answer.content


def test_lines_are_folded_and_words_escaped(client, visit):
    """RFC 5545, 3.1: CRLF, at most 75 octets a line, no letter cut in two; 3.3.11: commas and semicolons escaped."""
    content = read(client, visit).content
    lines = content.split(b"\r\n")

    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode("utf-8")
    unfolded = content.replace(b"\r\n ", b"").decode()
    assert "langen\\, langen Weg\\; hinter" in unfolded
    assert visit.site.name in str(event_of(read(client, visit))["SUMMARY"])


def test_no_code_and_no_note_leave_by_the_feed(client, visit):
    text = read(client, visit).content.decode()
    assert "4711" not in text
    assert "bites" not in text


def test_a_changed_visit_keeps_its_name_and_counts_up(client, visit):
    before = event_of(read(client, visit))
    confirm_visit(visit_id=visit.pk)
    after = event_of(read(client, visit))

    assert before["UID"] == after["UID"]
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["STATUS"] == "CONFIRMED"


def test_a_visit_called_off_stays_as_cancelled(client, visit):
    call_off_visit(visit_id=visit.pk, reason="rain")

    event = event_of(read(client, visit))
    assert event["STATUS"] == "CANCELLED"
    assert event["SEQUENCE"] == 1
    assert str(event["SUMMARY"]).startswith("Called off")


def test_an_unchanged_feed_is_not_sent_again(client, visit):
    first = read(client, visit)
    again = read(client, visit, headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304
    assert first.content == read(client, visit).content

    confirm_visit(visit_id=visit.pk)
    assert read(client, visit, headers={"If-None-Match": first["ETag"]}).status_code == 200


def test_a_suggestion_and_last_years_visits_are_left_out(client, visit):
    make_garden.visit(site=visit.site)
    make_garden.visit(site=visit.site, on=date(2024, 1, 5))
    assert event_of(read(client, visit))["UID"].startswith(f"visit-{visit.pk}@")


def test_the_key_of_the_pages_opens_no_feed(client, visit):
    token = link_token(visit.site.client, GARDEN)
    assert client.get(reverse("garden-calendar", args=[token])).status_code == 404
    feed = link_token(visit.site.client, CALENDAR)
    assert client.get(reverse("link-open", args=[feed])).status_code == 404
