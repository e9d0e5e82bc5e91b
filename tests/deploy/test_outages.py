"""When something breaks: a page that needs nothing, a status that says whether to try again, and nothing of the inside."""

from __future__ import annotations

import errno

import pytest
from django.db import InterfaceError, OperationalError, ProgrammingError
from django.test import Client

from deploy import health

SECRET = "host=10.0.0.7 password=hush"  # noqa: S105 – of tests only


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (OperationalError(SECRET), 503, "back in a moment"),
        (InterfaceError(SECRET), 503, "back in a moment"),
        (OSError(errno.ENOSPC, SECRET), 507, "no room left"),
        (OSError(errno.ECONNRESET, SECRET), 500, "broke on our side"),
        (ProgrammingError(SECRET), 500, "broke on our side"),
        (ZeroDivisionError(SECRET), 500, "broke on our side"),
    ],
)
def test_the_status_says_what_kind_of_trouble_it_is(monkeypatch, error, status, words):
    def broken(*arguments, **options):
        raise error

    monkeypatch.setattr(health, "JsonResponse", broken)
    answer = Client(raise_request_exception=False).get("/healthz")
    assert answer.status_code == status
    assert words in answer.content.decode()
    assert SECRET not in answer.content.decode()
    assert answer.headers.get("Retry-After", "") == ("20" if status == 503 else "")
    assert answer["X-Request-ID"]
