"""What watches the program: health, readiness, numbers of requests, lines of the log, deployment checks."""

from __future__ import annotations

import json
import logging
import os
import secrets
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import OperationalError
from django.urls import reverse

from business.services.client_links import link_token, stop_token
from deploy import health
from deploy.logs import Json, KnowsTheRequest, Line, without_links
from tests import make

ROOT = Path(__file__).resolve().parents[2]


def record(words: str, *arguments: object) -> logging.LogRecord:
    return logging.LogRecord("garden", logging.WARNING, __file__, 1, words, arguments, None)


def test_the_process_answers_without_sign_in_or_database(client):
    answer = client.get("/healthz")
    assert (answer.status_code, answer.json()) == (200, {"process": "ok"})
    assert client.post("/healthz").status_code == 405


@pytest.mark.django_db
def test_ready_asks_database_and_broker(client):
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == (200, {"database": "ok", "broker": "ok"})


@pytest.mark.django_db
def test_not_ready_without_broker_and_says_no_more(client, settings):
    # Port 9 (discard) listens nowhere here.
    settings.REDIS_URL = "redis://:hush@127.0.0.1:9/0"
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()) == (503, {"database": "ok", "broker": "out of reach"})


def test_not_ready_without_database(client, monkeypatch):
    class Gone:
        def cursor(self):
            raise OperationalError("password=hush")

    monkeypatch.setattr(health, "connection", Gone())
    answer = client.get("/readyz")
    assert (answer.status_code, answer.json()["database"]) == (503, "out of reach")
    assert b"hush" not in answer.content


def test_every_answer_has_a_number_of_its_own(client):
    first, second = client.get("/healthz"), client.get("/healthz")
    assert first["X-Request-ID"] != second["X-Request-ID"]


@pytest.mark.parametrize(
    ("behind", "given", "is_kept"),
    [
        (False, "proxy-12345678", False),
        (True, "proxy-12345678", True),
        (True, "a\nb-12345678", False),
        (True, "x", False),
    ],
)
def test_a_number_is_believed_from_our_proxy_only(client, settings, behind, given, is_kept):
    settings.BEHIND_PROXY = behind
    answer = client.get("/healthz", headers={"X-Request-ID": given})
    assert (answer["X-Request-ID"] == given) == is_kept


@pytest.mark.django_db
def test_a_missing_page_is_logged_with_its_number(client, caplog):
    answer = client.get("/nowhere/")
    (found,) = [row for row in caplog.records if row.name == "django.request"]
    KnowsTheRequest().filter(found)
    assert found.request_id == answer["X-Request-ID"]


def test_a_line_break_in_the_words_makes_no_second_event():
    line = Line().format(record("name %s", "x\n2026-01-01 ERROR forged\r"))
    assert "\n" not in line
    assert "x\\n2026" in line


def test_json_lines_can_be_read_back():
    event = json.loads(Json().format(record('said "%s"', "ü\n")))
    assert (event["level"], event["logger"], event["message"]) == ("WARNING", "garden", 'said "ü\n"')


@pytest.mark.django_db
def test_links_are_never_logged_whole(client):
    rosa = make.client()
    quiet = [link_token(rosa), link_token(rosa, "calendar"), stop_token(rosa, "reminder")]
    for token in quiet:
        for words in (f"Not Found: /open/{token}", f"GET /garden/calendar/{token}.ics?x=1", f"bare {token} here"):
            assert token[8:] not in without_links(words), words
            for formatter in (Line(), Json()):
                assert token[8:] not in formatter.format(record(words))


@pytest.mark.django_db
def test_a_refused_link_leaves_no_trace_of_it(client, capsys):
    token = link_token(make.client())[:-1]
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(Line())
    logging.getLogger("django.request").addHandler(handler)
    try:
        assert client.get(reverse("link-open", args=[token])).status_code == 404
    finally:
        logging.getLogger("django.request").removeHandler(handler)
    said = capsys.readouterr().err
    assert "Not Found: /open/…" in said
    assert token not in said


def settings_check(**more: str) -> subprocess.CompletedProcess[str]:
    plain = {name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LANG"}}
    return subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        cwd=ROOT,
        env={
            **plain,
            "DEMO": "no",
            "SITE_ADDRESS": "https://fruit.example.com",
            "ALLOWED_HOSTS": "fruit.example.com",
            **more,
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_deployment_checks_find_nothing_to_say(tmp_path):
    answer = settings_check(
        SECRET_KEY=secrets.token_urlsafe(50), VAR_DIR=str(tmp_path), BEHIND_PROXY="yes", LOG_FORMAT="json"
    )
    assert answer.returncode == 0, answer.stderr
    assert "no issues" in answer.stdout


def test_deployment_checks_refuse_a_weak_key(tmp_path):
    answer = settings_check(SECRET_KEY="x" * 5, VAR_DIR=str(tmp_path))
    assert answer.returncode == 1
    assert "security.W009" in answer.stderr
