"""Where one is signed in, for how long, and ending it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.test import Client as Browser
from django.urls import reverse

from business.models import ChangeNote, StaffSession
from business.services import sessions
from business.services.staff import change_staff
from tests import make
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db

# What browsers call themselves, as they do (the words between brackets name the system first).
AGENTS = [
    ("Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Windows"),
    (
        "Mozilla/5.0 (Linux; Android 15; Pixel 8) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/141.0 Mobile "
        "Safari/537.36",
        "Chrome on an Android phone",
    ),
    (
        "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 "
        "Mobile/15E148 Safari/604.1",
        "Safari on an iPhone",
    ),
    (
        "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/141.0 Safari/537.36 "
        "Edg/141.0",
        "Edge on Windows",
    ),
    ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux"),
    ("curl/8.5.0", "an unknown device"),
    ("", "an unknown device"),
]


@pytest.mark.parametrize(("agent", "words"), AGENTS, ids=[words for _, words in AGENTS[:-1]] + ["nothing"])
def test_devices_are_named_in_words(agent, words):
    assert sessions.device_words(agent) == words


def sign_in(username: str = "oriel", agent: str = AGENTS[0][0], address: str = "192.0.2.7") -> Browser:
    browser = Browser(HTTP_USER_AGENT=agent, REMOTE_ADDR=address)
    assert browser.post(reverse("sign-in"), {"username": username, "password": PASSWORD}).status_code == 302
    return browser


def is_in(browser: Browser) -> bool:
    return browser.get(reverse("today")).status_code == 200


def test_one_sees_where_one_is_signed_in(office):
    here, _ = sign_in(), sign_in(agent=AGENTS[1][0], address="198.51.100.4")
    page = here.get(reverse("me")).content.decode()
    assert "Firefox on Windows <strong>– this one</strong>" in page
    assert "Chrome on an Android phone" in page
    assert "198.51.100.4" in page


def test_one_device_is_signed_out_and_the_others_stay(office):
    here, lost, third = sign_in(), sign_in(), sign_in()
    row = StaffSession.objects.get(session_key=lost.session.session_key)
    assert here.post(reverse("my-session-end", args=[row.pk])).status_code == 302
    assert [is_in(browser) for browser in (here, lost, third)] == [True, False, True]
    assert ChangeNote.objects.get(act="session ended").made_by == office


def test_every_other_device_is_signed_out_at_once(office):
    here, *others = (sign_in() for _ in range(4))
    here.post(reverse("my-sessions-end"))
    assert is_in(here)
    assert not any(is_in(browser) for browser in others)
    assert StaffSession.objects.count() == 1


def test_nobody_ends_sessions_of_others(office, crew):
    theirs, mine = sign_in(), sign_in("corin")
    row = StaffSession.objects.get(staff=office)
    assert mine.post(reverse("my-session-end", args=[row.pk])).status_code == 404
    assert mine.post(reverse("person-sessions-end", args=[office.pk])).status_code == 404
    assert is_in(theirs)


def test_the_owner_signs_somebody_out_everywhere(owner, crew):
    boss, phone, tablet = sign_in("olwen"), sign_in("corin"), sign_in("corin")
    page = boss.get(reverse("person", args=[crew.pk])).content.decode()
    assert page.count("Firefox on Windows") == 2
    assert boss.post(reverse("person-sessions-end", args=[crew.pk])).status_code == 302
    assert not is_in(phone)
    assert not is_in(tablet)
    assert is_in(boss)
    assert phone.get(reverse("field-hello")).status_code == 401


def test_whoever_may_not_sign_in_any_more_is_out_at_once(owner, crew):
    phone = sign_in("corin")
    assert is_in(phone)
    change_staff(staff=crew, by=owner, is_active=False)
    assert not is_in(phone)
    assert phone.get(reverse("field-hello")).status_code == 401
    assert not StaffSession.objects.filter(staff=crew).exists()
    assert not Session.objects.filter(session_key=phone.session.session_key or "").exists()


def test_a_new_password_signs_out_every_other_device(office):
    here, there = sign_in(), sign_in()
    fresh = "eleven quinces by the gate"
    wrong = {"present_password": "no", "new_password": fresh, "again": fresh}
    assert here.post(reverse("my-password"), wrong).status_code == 422
    assert here.post(reverse("my-password"), wrong | {"present_password": PASSWORD, "again": "x"}).status_code == 422
    weak = {"present_password": PASSWORD, "new_password": "pear", "again": "pear"}
    assert here.post(reverse("my-password"), weak).status_code == 422
    assert is_in(there)

    assert here.post(reverse("my-password"), wrong | {"present_password": PASSWORD}).status_code == 302

    assert is_in(here)
    assert not is_in(there)
    assert Browser().post(reverse("sign-in"), {"username": "oriel", "password": PASSWORD}).status_code == 422
    assert StaffSession.objects.get().session_key == here.session.session_key


def test_guessing_the_present_password_gets_slow(office):
    here = sign_in()
    sent = {
        "present_password": "no",
        "new_password": "eleven quinces by the gate",
        "again": "eleven quinces by the gate",
    }
    assert [here.post(reverse("my-password"), sent).status_code for _ in range(6)] == [422] * 5 + [429]


def test_the_owner_gives_a_new_password_and_ends_old_sessions(owner, crew):
    boss, phone = sign_in("olwen"), sign_in("corin")
    sent = {"name": "Corin", "username": "corin", "role": "crew", "is_active": "on"}
    boss.post(reverse("person", args=[crew.pk]), {**sent, "password": "eleven quinces by the gate"})
    assert not is_in(phone)
    mine = {"name": "Olwen", "username": "olwen", "role": "owner", "is_active": "on", "sees_prices": "on"}
    boss.post(reverse("person", args=[owner.pk]), {**mine, "password": "twelve medlars on the lawn"})
    assert is_in(boss)


def test_signing_out_ends_the_session_on_the_server(office):
    here = sign_in()
    key = here.session.session_key
    here.post(reverse("sign-out"))
    assert not StaffSession.objects.exists()
    ghost = Browser()
    ghost.cookies["sessionid"] = key
    assert not is_in(ghost)


LIFETIMES = [
    ("office", timedelta(hours=7, minutes=50), timedelta(hours=8, minutes=10), timedelta(hours=24)),
    ("crew", timedelta(days=13, hours=23), timedelta(days=14, hours=1), timedelta(days=30)),
]


@pytest.mark.parametrize(("role", "still", "rested", "whole"), LIFETIMES, ids=["office", "crew"])
def test_sessions_end_after_rest_and_in_any_case(role, still, rested, whole):
    person = make.staff(role=role, password=PASSWORD)
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC), tick=False) as clock:
        browser = sign_in(person.username)
        clock.shift(still)
        assert is_in(browser)
        clock.shift(rested)
        assert not is_in(browser)

        browser = sign_in(person.username)
        opened = 0
        while timedelta(0) + still * (opened + 1) <= whole:
            clock.shift(still)
            opened += 1
            assert is_in(browser)
        clock.shift(whole - still * opened + timedelta(minutes=1))
        assert not is_in(browser)


def test_use_is_written_down_every_few_minutes_only(office):
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC), tick=False) as clock:
        browser = sign_in()
        clock.shift(timedelta(minutes=2))
        is_in(browser)
        assert StaffSession.objects.get().used_at == datetime(2027, 3, 1, 12, tzinfo=UTC)
        clock.shift(timedelta(minutes=4))
        is_in(browser)
        assert StaffSession.objects.get().used_at == datetime(2027, 3, 1, 12, 6, tzinfo=UTC)


def test_knowing_who_asks_takes_two_questions(office, django_assert_num_queries):
    """The session and the person with the factor; nothing more on any page."""
    browser = sign_in()
    with django_assert_num_queries(2):
        assert browser.get(reverse("field-today")).status_code == 200


def test_old_rows_are_forgotten(office):
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC), tick=False) as clock:
        sign_in()
        clock.shift(timedelta(days=29))
        assert sessions.forget_old_sessions() == 0
        clock.shift(timedelta(days=2))
        assert sessions.forget_old_sessions() == 2


def test_everybody_lands_on_a_page_of_theirs(owner, office, crew_lead, crew, accountant):
    for person in (owner, office, crew_lead, crew, accountant):
        browser = Browser()
        answer = browser.post(reverse("sign-in"), {"username": person.username, "password": PASSWORD})
        page = browser.get(answer["Location"])
        assert page.status_code == 200, person.role
        assert browser.get(reverse("sign-in"))["Location"] == answer["Location"]
        name = page.content.decode().split('class="masthead-name" href="')[1].split('"')[0]
        assert browser.get(name).status_code == 200, person.role
