"""Links of clients: one scope, one client, an end, and an early end."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.core import signing

from business import clock
from business.models import Message
from business.services.client_links import (
    CALENDAR,
    GARDEN,
    GARDEN_MARK,
    LASTS,
    SESSION_KEY,
    STOP_MARK,
    client_of_session,
    client_of_token,
    enter,
    link_token,
    stop_of_token,
    stop_token,
)
from business.services.client_mail import send_garden_link
from business.services.clients import end_links, stop_kind
from business.services.messages import _mail, queue_message
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def rosa():
    make.profile()
    return make.client(name="Rosa Quill", email="rosa@example.com")


def test_a_link_opens_its_own_client_only(rosa):
    other = make.client()

    assert client_of_token(link_token(rosa)) == rosa
    assert client_of_token(link_token(other)) == other


def test_a_link_of_one_scope_opens_no_other(rosa):
    assert client_of_token(link_token(rosa, CALENDAR), GARDEN) is None
    assert client_of_token(link_token(rosa, GARDEN), CALENDAR) is None
    assert client_of_token(stop_token(rosa, "reminder"), GARDEN) is None
    assert stop_of_token(link_token(rosa)) is None


@pytest.mark.parametrize("place", [0, 5, 20, -20, -1])
def test_a_changed_link_opens_nothing(rosa, place):
    token = link_token(rosa)
    other = "A" if token[place] != "A" else "B"
    assert client_of_token(token[:place] + other + (token[place + 1 :] if place != -1 else "")) is None


@pytest.mark.parametrize("token", ["", "x", "a:b:c", ":::", "é:ü:ß"])
def test_what_was_never_signed_opens_nothing(rosa, token):
    assert client_of_token(token) is None
    assert stop_of_token(token) is None


def test_a_signed_value_of_another_shape_opens_nothing(rosa):
    for value in ([rosa.pk], [rosa.pk, rosa.link_serial, None], {"a": 1}, 7, [rosa.pk, "1", 9_999_999_999]):
        assert client_of_token(signing.dumps(value, salt="client-link:garden")) is None


@pytest.mark.parametrize("scope", [GARDEN, CALENDAR])
def test_a_link_ends_on_its_day(rosa, scope):
    token = link_token(rosa, scope)
    with time_machine.travel(clock.now() + LASTS[scope] - timedelta(minutes=1), tick=False):
        assert client_of_token(token, scope) == rosa
    with time_machine.travel(clock.now() + LASTS[scope] + timedelta(minutes=1), tick=False):
        assert client_of_token(token, scope) is None


def test_ending_links_ends_all_links_and_sessions(rosa):
    token, session = link_token(rosa), {}
    assert enter(session, token) == rosa
    assert client_of_session(session) == rosa

    end_links(client=rosa)

    assert client_of_token(token) is None
    assert client_of_session(session) is None
    rosa.refresh_from_db()
    assert client_of_token(link_token(rosa)) == rosa


def test_a_session_does_not_outlive_its_link(rosa):
    session = {}
    enter(session, link_token(rosa))
    with time_machine.travel(clock.now() + LASTS[GARDEN] + timedelta(minutes=1), tick=False):
        assert client_of_session(session) is None


def test_a_session_key_of_odd_shape_opens_nothing(rosa):
    for said in (None, "x", [rosa.pk], [str(rosa.pk), 1, 2], [rosa.pk, rosa.link_serial, 0]):
        assert client_of_session({SESSION_KEY: said}) is None


def test_links_are_made_when_the_mail_leaves(rosa):
    message = send_garden_link(client=rosa)

    assert GARDEN_MARK in message.body
    assert "/open/" not in message.body
    sent = _mail(message).body
    token = sent.split("/open/")[1].split()[0]
    assert client_of_token(token) == rosa


def test_a_link_is_mailed_once_a_day(rosa):
    assert send_garden_link(client=rosa) == send_garden_link(client=rosa)
    assert Message.objects.count() == 1


def reminder(client, **values):
    return queue_message(
        key=f"reminder:{make.next_number()}",
        kind="reminder",
        client=client,
        to=client.email,
        subject="Tomorrow",
        body=f"we come. {STOP_MARK}",
        **values,
    )


def test_stop_headers_follow_the_standard_over_https(rosa, settings):
    """RFC 8058, section 3.1: one https address, and exactly this value of List-Unsubscribe-Post."""
    settings.SITE_ADDRESS = "https://fruit.example.com"
    mail = _mail(reminder(rosa))

    assert mail.extra_headers["List-Unsubscribe"].startswith("<https://fruit.example.com/mail/stop/")
    assert mail.extra_headers["List-Unsubscribe"].endswith(">")
    assert mail.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert mail.extra_headers["Auto-Submitted"] == "auto-generated"
    token = mail.extra_headers["List-Unsubscribe"].rsplit("/", 1)[1].rstrip(">")
    assert stop_of_token(token) == (rosa, "reminder")


def test_mail_about_money_offers_no_stop(rosa):
    message = queue_message(key="i", kind="invoice", client=rosa, to=rosa.email, subject="Invoice", body="Pay.")
    assert "List-Unsubscribe" not in _mail(message).extra_headers


def test_stopping_a_kind_stops_what_still_waits(rosa):
    waiting = reminder(rosa)

    assert stop_kind(client=rosa, kind="reminder") is True
    assert stop_kind(client=rosa, kind="reminder") is False

    waiting.refresh_from_db()
    assert waiting.state == Message.State.STOPPED
    rosa.refresh_from_db()
    assert rosa.stopped_kinds == ["reminder"]
    assert reminder(rosa).state == Message.State.STOPPED


def test_a_stopped_kind_may_come_again(rosa):
    stop_kind(client=rosa, kind="reminder")
    stop_kind(client=rosa, kind="reminder", is_stopped=False)

    rosa.refresh_from_db()
    assert rosa.stopped_kinds == []
    assert reminder(rosa).state == Message.State.WAITING
