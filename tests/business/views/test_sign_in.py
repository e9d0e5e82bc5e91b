"""Guessing passwords gets slow; the person whose name is guessed is not shut out."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from business import clock
from business.models import SignInTry
from business.services import sign_in
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db
NEAR, FAR = "192.0.2.7", "198.51.100.9"


@pytest.fixture
def attempt(client, office):
    def attempt(password: str, address: str = NEAR, username: str = "oriel"):
        client.logout()
        return client.post(
            reverse("sign-in"), {"username": username, "password": password}, REMOTE_ADDR=address
        ).status_code

    return attempt


def test_five_wrong_passwords_make_the_sixth_wait(attempt):
    assert [attempt("wrong") for _ in range(5)] == [422] * 5
    assert attempt("wrong") == 429
    assert attempt(PASSWORD) == 429


def test_the_same_name_elsewhere_does_not_wait(attempt):
    for _ in range(6):
        attempt("wrong")
    assert attempt(PASSWORD, FAR) == 302


def test_the_wait_ends_and_grows(attempt):
    for _ in range(5):
        attempt("wrong")
    with time_machine.travel(clock.now() + sign_in.FIRST_WAIT + timedelta(seconds=1)) as traveller:
        assert attempt("wrong") == 422
        traveller.shift(sign_in.FIRST_WAIT)
        assert attempt(PASSWORD) == 429
        traveller.shift(sign_in.FIRST_WAIT + timedelta(seconds=1))
        assert attempt(PASSWORD) == 302
    assert SignInTry.objects.get().failures == 0


def test_capitals_and_spaces_do_not_reset_the_count(attempt):
    for name in ("oriel", "Oriel", " oriel ", "ORIEL", "oRiel"):
        attempt("wrong", username=name)
    assert attempt("wrong") == 429


def test_many_names_from_one_address_wait(attempt, monkeypatch):
    monkeypatch.setattr(sign_in, "MOST_FROM_AN_ADDRESS", 4)
    for number in range(4):
        attempt("wrong", username=f"name{number}")
    assert attempt(PASSWORD) == 429
    assert attempt(PASSWORD, FAR) == 302


def test_a_name_tried_everywhere_opens_where_it_opened_before(attempt, monkeypatch):
    monkeypatch.setattr(sign_in, "MOST_FOR_A_NAME", 3)
    assert attempt(PASSWORD, NEAR) == 302
    for number in range(3):
        attempt("wrong", f"203.0.113.{number}")
    assert attempt(PASSWORD, FAR) == 429
    assert attempt(PASSWORD, NEAR) == 302


def test_the_proxys_word_counts_only_behind_the_proxy(client, office, settings):
    for behind, expected in ((False, "127.0.0.1"), (True, FAR)):
        settings.BEHIND_PROXY = behind
        client.post(reverse("sign-in"), {"username": "oriel", "password": "x"}, HTTP_X_FORWARDED_FOR=f"{NEAR}, {FAR}")
        assert SignInTry.objects.filter(address=expected).exists()


def test_tries_without_a_name_do_not_break_the_page(client):
    assert client.post(reverse("sign-in"), {"password": "x"}).status_code == 422
    assert client.post(reverse("sign-in"), {"username": "x" * 400, "password": "x"}).status_code == 422


def test_passwords_are_kept_with_argon2():
    from deploy import settings as written

    # The tests hash with something quicker (tests/conftest.py), so the module itself is asked.
    assert "Argon2" in written.PASSWORD_HASHERS[0]
