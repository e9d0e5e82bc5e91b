"""The second step of signing in: nothing opens before it, on no page."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse
from django_otp.oath import totp

from business.models import ChangeNote, SecondFactor, StaffSession
from business.services import second_factors
from business.services.profile import save_profile
from tests import make
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def code_now(staff) -> str:
    key = bytes.fromhex(SecondFactor.objects.get(staff=staff).key)
    return f"{totp(key, t0=0, drift=0):06}"


@pytest.fixture
def moment():
    with time_machine.travel(datetime(2027, 3, 1, 12, 0, 5, tzinfo=UTC), tick=False) as traveller:
        yield traveller


@pytest.fixture
def guarded(moment, owner):
    """The owner with a factor that is on, a minute later, so that a fresh code is free."""
    make.profile()
    second_factors.begin(staff=owner)
    second_factors.confirm(staff=owner, code=code_now(owner))
    moment.shift(timedelta(seconds=60))
    owner.refresh_from_db()
    return owner


def sign_in(browser: Browser, **more):
    return browser.post(reverse("sign-in"), {"username": "olwen", "password": PASSWORD, **more})


def test_the_whole_way_from_off_to_signing_in_with_a_code(client, owner, moment):
    make.profile()
    assert sign_in(client)["Location"] == reverse("today")
    address = reverse("my-second-factor")
    assert "Begin" in client.get(address).content.decode()
    assert not SecondFactor.objects.exists()  # looking changes nothing

    client.post(address, {"begin": "yes"})
    page = client.get(address).content.decode()
    assert '<svg class="qr-code"' in page
    letters = "".join(re.findall(r"<span>([A-Z2-7]{4})</span>", page))
    assert letters == second_factors.key_letters(SecondFactor.objects.get())
    assert client.post(address, {"code": "12345"}).status_code == 422

    shown = client.post(address, {"code": code_now(owner)})
    codes = re.findall(r"<code>([A-Z2-9-]{14})</code>", shown.content.decode())
    assert len(codes) == 10
    assert "no-store" in shown["Cache-Control"]
    assert codes[0] not in client.get(address).content.decode()
    assert client.get(reverse("today")).status_code == 200  # this session goes on

    client.post(reverse("sign-out"))
    moment.shift(timedelta(seconds=60))
    answer = sign_in(client, next="/clients/")
    assert answer["Location"] == f"{reverse('second-step')}?next=%2Fclients%2F"
    assert client.post(answer["Location"], {"code": code_now(owner)})["Location"] == "/clients/"
    assert client.get("/clients/").status_code == 200


def test_before_the_code_every_page_takes_them_for_a_stranger(client, guarded):
    sign_in(client)
    for name in ("today", "clients", "me", "people", "my-password", "my-second-factor", "rounds"):
        assert client.get(reverse(name))["Location"].startswith(reverse("sign-in")), name
        assert client.post(reverse(name))["Location"].startswith(reverse("sign-in")), name
    # … and the way in leads on to the code.
    assert client.get(reverse("sign-in"))["Location"] == reverse("second-step")


def test_the_field_tells_the_phone_that_the_code_is_missing(client, crew, moment):
    second_factors.begin(staff=crew)
    second_factors.confirm(staff=crew, code=code_now(crew))
    client.force_login(crew)
    for ask in (
        client.get(reverse("field-hello")),
        client.post(reverse("field-pack"), "{}", content_type="application/json"),
        client.post(reverse("field-acts"), "{}", content_type="application/json"),
        client.get(reverse("field-photo", args=["0" * 64])),
    ):
        assert ask.status_code == 401
        assert ask.json()["type"] == "urn:field-problem:second-step"
    moment.shift(timedelta(seconds=60))
    client.post(reverse("second-step"), {"code": code_now(crew)})
    assert client.get(reverse("field-hello")).json()["person"]["id"] == crew.pk


def test_switching_on_elsewhere_closes_sessions_opened_before(owner, moment):
    make.profile()
    here, there = Browser(), Browser()
    sign_in(here)
    sign_in(there)
    assert there.get(reverse("today")).status_code == 200
    here.post(reverse("my-second-factor"), {"begin": "yes"})
    here.post(reverse("my-second-factor"), {"code": code_now(owner)})
    assert here.get(reverse("today")).status_code == 200
    assert there.get(reverse("today")).status_code == 302


def test_a_code_opens_one_session_only(guarded):
    first, second = Browser(), Browser()
    for browser in (first, second):
        sign_in(browser)
    code = code_now(guarded)
    assert first.post(reverse("second-step"), {"code": code}).status_code == 302
    assert second.post(reverse("second-step"), {"code": code}).status_code == 422
    assert second.get(reverse("today")).status_code == 302


def test_wrong_codes_slow_down_and_a_right_password_does_not_help(client, guarded):
    sign_in(client)
    answers = [client.post(reverse("second-step"), {"code": f"00000{n}"}).status_code for n in range(7)]
    assert answers == [422] * 5 + [429] * 2
    assert client.post(reverse("second-step"), {"code": code_now(guarded)})["Retry-After"]
    client.post(reverse("sign-out"))
    sign_in(client)
    assert client.post(reverse("second-step"), {"code": code_now(guarded)}).status_code == 429


def test_strangers_who_guess_passwords_do_not_slow_the_code(client, guarded):
    sign_in(client)
    stranger = Browser()
    for _ in range(6):
        stranger.post(reverse("sign-in"), {"username": "olwen", "password": "wrong"})
    assert client.post(reverse("second-step"), {"code": code_now(guarded)}).status_code == 302


def test_the_session_gets_a_new_name_with_every_step(client, guarded):
    client.get(reverse("sign-in"))
    sign_in(client)
    half = client.session.session_key
    client.post(reverse("second-step"), {"code": code_now(guarded)})
    whole = client.session.session_key
    assert half != whole
    assert StaffSession.objects.get().session_key == whole


def test_the_code_leads_to_pages_of_ours_only(client, guarded):
    sign_in(client)
    for wanted in ("//evil.example.com", "https://evil.example.com/", "\\\\evil.example.com", "javascript:x()"):
        client.get(reverse("second-step"), {"next": wanted})
    answer = client.post(reverse("second-step"), {"code": code_now(guarded), "next": "//evil.example.com"})
    assert answer["Location"] == reverse("today")


def test_nobody_but_the_half_signed_in_is_asked_for_a_code(client, guarded):
    assert client.get(reverse("second-step"))["Location"].startswith(reverse("sign-in"))
    sign_in(client)
    client.post(reverse("second-step"), {"code": code_now(guarded)})
    assert client.get(reverse("second-step"))["Location"] == reverse("today")


# The business wants it.


def test_when_the_days_are_over_only_setting_up_opens(client, owner, moment):
    make.profile()
    save_profile(needs_second_factor=True, second_factor_grace_days=3)
    sign_in(client)
    assert client.get(reverse("today")).status_code == 200
    moment.shift(timedelta(days=3))
    sign_in(client)
    assert client.get(reverse("today"))["Location"].startswith(reverse("sign-in"))
    assert client.get(reverse("sign-in"))["Location"] == reverse("my-second-factor")
    page = client.get(reverse("my-second-factor"))
    assert "the days to set it up are over" in page.content.decode()
    assert client.post(reverse("my-codes")).status_code == 302

    client.post(reverse("my-second-factor"), {"begin": "yes"})
    assert client.post(reverse("my-second-factor"), {"code": code_now(owner)}).status_code == 200
    assert client.get(reverse("today")).status_code == 200


def test_the_phone_of_somebody_without_a_factor_hears_it_too(client, owner, moment):
    make.profile()
    save_profile(needs_second_factor=True, second_factor_grace_days=0)
    client.force_login(owner)
    assert client.get(reverse("field-hello")).json()["type"] == "urn:field-problem:second-step"


def test_switching_off_asks_for_a_code(client, guarded, moment):
    sign_in(client)
    client.post(reverse("second-step"), {"code": code_now(guarded)})
    client.post(reverse("my-factor-off"), {"code": "000000"})
    assert SecondFactor.objects.exists()
    moment.shift(timedelta(seconds=30))
    client.post(reverse("my-factor-off"), {"code": code_now(guarded)})
    assert not SecondFactor.objects.exists()
    assert client.get(reverse("today")).status_code == 200


def test_a_reset_lets_the_password_alone_in_again(client, guarded, moment):
    other = make.staff(role="owner", name="Second owner")
    sign_in(client)
    boss = Browser()
    boss.force_login(other)
    assert boss.post(reverse("person-factor-reset", args=[guarded.pk])).status_code == 302

    assert client.get(reverse("second-step")).status_code == 302  # the half session ended with it
    assert sign_in(client)["Location"] == reverse("today")
    assert ChangeNote.objects.filter(act="second factor reset", made_by=other).exists()
    assert "Second factor reset" in boss.get(reverse("person", args=[guarded.pk])).content.decode()


@pytest.mark.parametrize("role", ["office", "crew_lead", "crew", "accountant"])
def test_nobody_but_an_owner_resets(client, guarded, role):
    client.force_login(make.staff(role=role))
    assert client.post(reverse("person-factor-reset", args=[guarded.pk])).status_code == 404
    assert SecondFactor.objects.exists()


# The password once more.


def test_grave_pages_ask_again_after_a_while(client, owner, moment):
    make.profile()
    sign_in(client)
    assert client.get(reverse("business-profile")).status_code == 200
    moment.shift(timedelta(minutes=31))
    answer = client.get(reverse("business-profile"))
    assert answer["Location"] == f"{reverse('prove')}?next={reverse('business-profile')}"
    assert client.post(answer["Location"], {"password": "wrong"}).status_code == 422
    assert client.post(answer["Location"], {"password": PASSWORD})["Location"] == reverse("business-profile")
    assert client.get(reverse("business-profile")).status_code == 200


def test_a_form_opened_in_time_may_be_sent_later(client, owner, moment):
    make.profile()
    sign_in(client)
    form = {
        k: "" if v is None else v for k, v in client.get(reverse("business-profile")).context["form"].initial.items()
    }
    moment.shift(timedelta(minutes=50))
    assert client.post(reverse("business-profile"), form)["Location"] == reverse("business-profile")
    moment.shift(timedelta(minutes=11))
    assert client.post(reverse("business-profile"), form)["Location"].startswith(reverse("prove"))


def test_new_bank_details_are_told_to_the_owners(owner):
    from business.models import Message

    make.profile()
    save_profile(phone="01632 960112")
    assert not Message.objects.filter(kind="bank_changed").exists()
    save_profile(payment_lines="Another bank")
    assert Message.objects.get(kind="bank_changed").to == owner.email
