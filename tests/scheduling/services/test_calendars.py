"""The calendar of a crew, read back by the library that wrote it and line by line against RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest
from icalendar import Calendar

from scheduling.services.calendars import calendar_of, crew_behind, end_calendar_address
from scheduling.services.moves import Wanted, move_visit
from scheduling.services.visits import call_off_visit, confirm_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
WINTER, SUMMER = date(2027, 1, 12), date(2027, 6, 15)


@pytest.fixture(autouse=True)
def morning_before(time_machine):
    time_machine.move_to("2027-01-11 12:00:00+00:00", tick=False)
    make.profile()


@pytest.fixture
def crew():
    return make_garden.crew(name="North")


def events(crew):
    return {str(event["uid"]): event for event in Calendar.from_ical(calendar_of(crew)).walk("VEVENT")}


def test_times_are_utc_in_winter_and_summer(crew):
    winter = make_garden.visit(on=WINTER, crew=crew)
    summer = make_garden.visit(on=SUMMER, crew=crew, closes=date(2027, 7, 1))

    found = {event["uid"].split("@")[0]: event for event in events(crew).values()}

    # British Summer Time is an hour ahead of UTC.
    assert found[f"visit-{winter.pk}"]["dtstart"].dt == datetime(2027, 1, 12, 9, tzinfo=UTC)
    assert found[f"visit-{summer.pk}"]["dtstart"].dt == datetime(2027, 6, 15, 8, tzinfo=UTC)
    assert found[f"visit-{winter.pk}"]["dtend"].dt == datetime(2027, 1, 12, 10, 15, tzinfo=UTC)
    assert b"DTSTART:20270112T090000Z" in calendar_of(crew)


def test_a_move_keeps_the_uid_and_raises_the_sequence(crew):
    visit = make_garden.visit(on=WINTER, crew=crew)
    before = next(iter(events(crew).items()))

    move_visit(visit_id=visit.pk, wanted=Wanted(crew_id=crew.pk, day=date(2027, 1, 14)), revision=0)
    after = next(iter(events(crew).items()))

    assert before[0] == after[0]
    assert (before[1]["sequence"], after[1]["sequence"]) == (0, 1)
    assert after[1]["dtstart"].dt.date() == date(2027, 1, 14)


def test_states_read_as_the_standard_names_them(crew):
    planned = make_garden.visit(on=WINTER, crew=crew)
    agreed = make_garden.visit(on=WINTER, crew=crew, position=2)
    gone = make_garden.visit(on=WINTER, crew=crew, position=3)
    confirm_visit(visit_id=agreed.pk)
    call_off_visit(visit_id=gone.pk, reason="rain")

    found = {int(uid.split("@")[0].removeprefix("visit-")): str(event["status"]) for uid, event in events(crew).items()}

    # RFC 5545, 3.8.1.11: the status of an event is TENTATIVE, CONFIRMED or CANCELLED.
    assert found == {planned.pk: "TENTATIVE", agreed.pk: "CONFIRMED", gone.pk: "CANCELLED"}


def test_the_file_keeps_the_rules_of_the_standard(crew):
    site = make_garden.site(name="Château d’Été, " + "very long name " * 6, address="1 Lane; North\nTown, Shire")
    make_garden.visit(on=WINTER, crew=crew, site=site)
    make_garden.visit(on=WINTER, crew=crew, position=2, arrives_at=None, leaves_at=None)

    text = calendar_of(crew)
    lines = text.split(b"\r\n")

    # RFC 5545, 3.1: lines end with CRLF and are folded at 75 octets. 3.6: PRODID and VERSION once. 3.6.1: UID, DTSTAMP.
    assert b"\n" not in text.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert sum(line.startswith(b"PRODID:") for line in lines) == lines.count(b"VERSION:2.0") == 1
    assert sum(line.startswith(b"UID:") for line in lines) == sum(line.startswith(b"DTSTAMP:") for line in lines) == 2
    assert b"DTSTART;VALUE=DATE:20270112" in lines
    assert {str(event["summary"]) for event in events(crew).values()} >= {site.name}
    assert b"\\;" in text
    assert lines.count(b"REFRESH-INTERVAL;VALUE=DURATION:PT1H") == 1


def test_codes_and_numbers_stay_at_home(crew):
    site = make_garden.site(access_notes="Code 4711", phone="01632 960777", hazards="Bees")
    make_garden.visit(on=WINTER, crew=crew, site=site)

    text = calendar_of(crew).decode()

    assert not any(secret in text for secret in ("4711", "960777", "Bees"))


def test_another_crews_visits_are_not_told(crew):
    make_garden.visit(on=WINTER, arrives_at=time(9))

    assert not events(crew)


def test_an_ended_or_forged_address_opens_nothing(crew, client):
    from scheduling.services.calendars import calendar_address

    path = calendar_address(crew).split("/", 3)[3]
    answer = client.get(f"/{path}")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/calendar")

    assert client.get(f"/{path[:-5]}x.ics").status_code == 404
    assert crew_behind("") is None
    end_calendar_address(crew_id=crew.pk)
    assert client.get(f"/{path}").status_code == 404
    assert client.post(f"/{path}").status_code == 405
