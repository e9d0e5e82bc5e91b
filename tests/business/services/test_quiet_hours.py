"""Mail goes in its hours, also on the nights when clocks change, and whenever it is tried again."""

from __future__ import annotations

import smtplib
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from hypothesis import given
from hypothesis import strategies as st

from business.models import Message
from business.services import messages
from business.services.quiet_hours import Hours
from tests import make


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


LONDON, NEW_YORK = ZoneInfo("Europe/London"), ZoneInfo("America/New_York")
LORD_HOWE, SYDNEY = ZoneInfo("Australia/Lord_Howe"), ZoneInfo("Australia/Sydney")

# Changes of clocks as the IANA time zone database has them: London forward on 28 March 2027 at 01:00 UTC and back on
# 31 October at 01:00 UTC; New York forward on 14 March at 07:00 UTC; Sydney forward on 3 October 2027 at 2 October
# 16:00 UTC; Lord Howe forward by half an hour on 3 October at 2 October 15:30 UTC.
NEXT_MOMENTS = [
    ("day before spring", Hours(8, 19, LONDON), "2027-03-27T20:00", "2027-03-28T07:00"),
    ("night of spring", Hours(8, 19, LONDON), "2027-03-28T00:30", "2027-03-28T07:00"),
    ("day before autumn", Hours(8, 19, LONDON), "2027-10-30T20:00", "2027-10-31T08:00"),
    ("night of autumn, hour shown twice", Hours(8, 19, LONDON), "2027-10-31T00:30", "2027-10-31T08:00"),
    ("the hour left out opens behind the gap", Hours(1, 6, LONDON), "2027-03-28T00:10", "2027-03-28T01:00"),
    ("the hour shown twice holds at once", Hours(1, 6, LONDON), "2027-10-31T00:30", "2027-10-31T00:30"),
    ("and the second time too", Hours(1, 6, LONDON), "2027-10-31T01:30", "2027-10-31T01:30"),
    ("New York", Hours(8, 19, NEW_YORK), "2027-03-14T01:00", "2027-03-14T12:00"),
    ("Sydney", Hours(8, 19, SYDNEY), "2027-10-02T10:00", "2027-10-02T21:00"),
    ("Lord Howe, half an hour", Hours(8, 19, LORD_HOWE), "2027-10-02T10:00", "2027-10-02T21:00"),
    ("by day nothing waits", Hours(8, 19, LONDON), "2027-06-01T12:00", "2027-06-01T12:00"),
    ("the last minute still goes", Hours(8, 19, LONDON), "2027-01-11T18:59", "2027-01-11T18:59"),
    ("the full hour does not", Hours(8, 19, LONDON), "2027-01-11T19:00", "2027-01-12T08:00"),
]


@pytest.mark.parametrize(
    ("hours", "wanted", "moment"), [row[1:] for row in NEXT_MOMENTS], ids=[r[0] for r in NEXT_MOMENTS]
)
def test_the_next_moment_is_read_on_the_clock_of_the_place(hours, wanted, moment):
    assert hours.next_moment(utc(wanted)) == utc(moment)


@given(
    at=st.datetimes(min_value=datetime(2026, 1, 1), max_value=datetime(2028, 12, 31)),  # noqa: DTZ001 - made aware below
    first=st.integers(3, 22),
    length=st.integers(1, 20),
    zone=st.sampled_from([LONDON, NEW_YORK, SYDNEY, LORD_HOWE]),
)
def test_the_next_moment_holds_and_comes_within_a_day(at, first, length, zone):
    hours = Hours(first, min(first + length, 24), zone)
    wanted = at.replace(tzinfo=UTC)
    moment = hours.next_moment(wanted)
    assert hours.hold(moment)
    assert wanted <= moment <= wanted + timedelta(hours=25)


# Sending, and sending again.


@pytest.fixture
def broken_server(monkeypatch):
    def refuse(self, *args, **kwargs):
        raise smtplib.SMTPConnectError(421, b"not now")

    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)


def reminder(**more) -> Message:
    make.profile()
    return make.message(client=make.client(), hours=Hours(8, 19, LONDON), **more)


@pytest.mark.django_db
def test_a_message_with_hours_waits_for_them():
    with time_machine.travel(utc("2027-01-11T03:00"), tick=False) as clock:
        message = reminder()
        assert not messages.send_message(message_id=message.pk)
        message.refresh_from_db()
        assert (message.attempts, message.next_try) == (0, utc("2027-01-11T08:00"))
        clock.move_to(utc("2027-01-11T08:00"))
        assert messages.send_message(message_id=message.pk)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("now", "tries", "again"),
    [
        ("2027-01-11T18:55", 2, "2027-01-12T08:00"),  # ten minutes on would be 19:05
        ("2027-01-11T15:00", 3, "2027-01-11T16:00"),  # an hour on is day
        ("2027-01-11T15:00", 4, "2027-01-12T08:00"),  # six hours on is night
        ("2027-03-27T18:30", 3, "2027-03-28T07:00"),  # the night before clocks go forward
        ("2027-10-30T17:30", 3, "2027-10-31T08:00"),  # the night before they go back
    ],
)
def test_a_try_that_failed_is_not_repeated_at_night(broken_server, now, tries, again):
    with time_machine.travel(utc(now), tick=False):
        message = reminder()
        Message.objects.filter(pk=message.pk).update(attempts=tries - 1)
        messages.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert (message.state, message.next_try) == ("waiting", utc(again))


@pytest.mark.django_db
def test_an_invoice_is_tried_again_by_day_only(broken_server):
    with time_machine.travel(utc("2027-01-11T18:55"), tick=False):
        make.profile()
        message = make.message(client=make.client(), kind="invoice")
        Message.objects.filter(pk=message.pk).update(attempts=2)
        messages.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert message.next_try == utc("2027-01-12T08:00")


@pytest.mark.django_db
def test_mail_to_the_office_is_tried_again_at_any_hour(broken_server):
    with time_machine.travel(utc("2027-01-11T23:00"), tick=False):
        make.profile()
        message = make.message()
        messages.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert message.next_try == utc("2027-01-11T23:01")


@pytest.mark.django_db
def test_what_would_come_too_late_is_stopped_with_the_reason(broken_server):
    with time_machine.travel(utc("2027-01-11T18:50"), tick=False):
        message = reminder(not_after=utc("2027-01-12T07:30"))
        Message.objects.filter(pk=message.pk).update(attempts=2)
        messages.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert message.state == "stopped"
    assert "too late" in message.error


@pytest.mark.django_db
def test_a_worker_that_was_down_for_days_sends_nothing_stale():
    with time_machine.travel(utc("2027-01-11T16:00"), tick=False) as clock:
        message = reminder(not_after=utc("2027-01-12T09:00"))
        clock.move_to(utc("2027-01-14T10:00"))
        assert messages.sweep_messages() == 1
        assert not messages.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert (message.state, message.attempts) == ("stopped", 0)
    assert "2027-01-12 09:00 UTC" in message.error


@pytest.mark.django_db
def test_sent_again_by_hand_it_keeps_its_hours():
    with time_machine.travel(utc("2027-01-11T16:00"), tick=False):
        message = reminder()
        messages.stop_message(message=message, reason="wrong words")
        again = messages.send_again(message=message, reason="right words")
    assert (again.from_hour, again.until_hour, again.zone) == (8, 19, "Europe/London")
