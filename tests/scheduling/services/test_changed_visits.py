"""A client who was told of a visit hears when it moves or is called off, and so does their calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from icalendar import Calendar

from business.models import Message
from business.services.archive import content_of
from business.services.messages import _mail, send_message
from scheduling.services.reminders import write_reminders
from scheduling.services.visits import call_off_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)
EVE = make_garden.utc(2027, 1, 11, 15)


@pytest.fixture
def visit():
    make.profile()
    site = make_garden.site(name="Quill House", client=make.client(email="rosa@example.com"))
    return make_garden.visit(on=DAY, site=site)


@pytest.fixture
def told(visit, time_machine):
    """The client was reminded, and the mail went."""
    time_machine.move_to(EVE, tick=False)
    write_reminders(at=EVE)
    message = Message.objects.get()
    assert send_message(message_id=message.pk)
    return message


def event_of(message: Message):
    (document,) = message.documents.all()
    calendar = Calendar.from_ical(content_of(document))
    (event,) = calendar.walk("VEVENT")
    return calendar, event


def changed() -> list[Message]:
    return list(Message.objects.filter(kind="visit_changed"))


def test_a_reminder_carries_the_visit_for_the_calendar(visit, told):
    """RFC 5545, section 8.1: the method parameter of the type is the METHOD of the file; 3.7.2; 3.8.4.7; 3.8.7.4."""
    calendar, event = event_of(told)
    assert calendar["METHOD"] == "PUBLISH"
    assert (event["UID"], event["SEQUENCE"], event["STATUS"]) == (f"visit-{visit.pk}@127.0.0.1", 0, "TENTATIVE")
    (part,) = [part for part in _mail(told).message().walk() if part.get_content_type() == "text/calendar"]
    assert part.get_param("method") == "PUBLISH"
    assert part.get_param("charset") == "utf-8"
    assert part.get_filename() == "visit.ics"
    assert b"BEGIN:VCALENDAR\r\n" in part.get_payload(decode=True)


def test_a_visit_called_off_is_told_and_cancelled(visit, told):
    """RFC 5545, section 3.8.1.11: CANCELLED; 3.8.7.4: a higher SEQUENCE under the same UID replaces what was there."""
    call_off_visit(visit_id=visit.pk, reason="storm")
    write_reminders(at=EVE + timedelta(hours=1))
    write_reminders(at=EVE + timedelta(hours=2))

    (message,) = changed()
    assert message.subject == "Called off: our visit to Quill House"
    assert "storm" in message.body
    _, before = event_of(told)
    _, after = event_of(message)
    assert after["UID"] == before["UID"]
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["STATUS"] == "CANCELLED"


def test_a_visit_moved_is_told_with_its_new_day(visit, told):
    visit.on, visit.revision = date(2027, 1, 15), visit.revision + 1
    visit.save()
    write_reminders(at=EVE + timedelta(hours=1))

    (message,) = changed()
    assert "We come on Friday 15 January instead, in the morning." in message.body
    _, event = event_of(message)
    assert event.decoded("DTSTART") == date(2027, 1, 15)
    assert event["SEQUENCE"] == 1
    # … and the evening before the new day they are reminded once more.
    write_reminders(at=make_garden.utc(2027, 1, 14, 15))
    assert Message.objects.filter(kind="reminder").count() == 2


def test_a_change_before_the_reminder_went_is_told_by_nobody(visit, time_machine):
    time_machine.move_to(EVE, tick=False)
    write_reminders(at=EVE)
    call_off_visit(visit_id=visit.pk, reason="storm")
    write_reminders(at=EVE + timedelta(minutes=20))

    assert not changed()
    assert Message.objects.get().state == "stopped"


def test_changes_are_told_by_day(visit, told):
    call_off_visit(visit_id=visit.pk, reason="storm")
    write_reminders(at=make_garden.utc(2027, 1, 11, 22))
    assert not changed()
    write_reminders(at=make_garden.utc(2027, 1, 12, 8))
    assert changed()


def test_whoever_wants_no_reminders_still_hears_of_changes(visit, told):
    """They were told of the day, and must not wait at the gate."""
    visit.site.client.stopped_kinds = ["reminder"]
    visit.site.client.save()
    call_off_visit(visit_id=visit.pk, reason="storm")
    write_reminders(at=EVE + timedelta(hours=1))
    assert changed()[0].state == "waiting"


def test_a_visit_that_was_is_not_told_again(visit, told):
    call_off_visit(visit_id=visit.pk, reason="storm")
    write_reminders(at=make_garden.utc(2027, 1, 13, 9))
    assert not changed()
