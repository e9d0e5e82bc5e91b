"""Requirements of security that belong to no page alone, each with its number in ASVS 5.0.0 or its standard."""

from __future__ import annotations

import os
import pickle
import re
import subprocess
import sys
from datetime import UTC, datetime

import pytest
import time_machine
from django.conf import settings as live
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import get_resolver, reverse

from business.documents.tables import as_written, csv_text, harmless
from business.models import Client, Staff
from business.services.client_links import client_of_token, link_token
from gardens.services.photos import LARGEST_BYTES, MOST_PIXELS
from gardens.views.photos import photo_answer
from tests import make, make_garden
from tests.answers import close
from tests.architecture.project import ROOT, modules, texts
from tests.conftest import PASSWORD

# Passwords (v5.0.0-6.2.1 to 6.2.12, NIST SP 800-63B-4: 15 signs where nothing else proves the person, any signs, no
# rule of mixture, common ones refused).
PASSWORDS = [
    ("seven pears on a wall", True),
    ("ein langer Satz über Quitten", True),
    ("x" * 64 + "never seen before", True),
    ("fourteen signs", False),
    ("Tr0ub4dor&3", False),
    ("yfdbufnjh10305070", False),  # long, and yet among the 20,000 commonest that come with Django
    ("corincorincorin", False),
    ("", False),
]


@pytest.mark.parametrize(("password", "is_taken"), PASSWORDS, ids=[repr(p[:16]) for p, _ in PASSWORDS])
def test_passwords_are_long_and_uncommon_and_nothing_else(password, is_taken):
    from django.contrib.auth.password_validation import validate_password

    try:
        validate_password(password, Staff(username="corincorin", name="Corin"))
    except ValidationError:
        assert not is_taken
    else:
        assert is_taken


def test_validators_are_not_the_empty_default():
    names = [one["NAME"].rsplit(".", 1)[1] for one in live.AUTH_PASSWORD_VALIDATORS]
    assert {"MinimumLengthValidator", "CommonPasswordValidator", "UserAttributeSimilarityValidator"} <= set(names)


# Cookies and headers (v5.0.0-3.3.1 to 3.3.4, 3.4.1 to 3.4.8).

SHOW = """
import django; django.setup()
from django.conf import settings as s
print(s.SESSION_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.SESSION_COOKIE_HTTPONLY, s.SESSION_COOKIE_SAMESITE,
      s.SESSION_COOKIE_DOMAIN, s.SESSION_COOKIE_PATH, s.CSRF_COOKIE_NAME, s.CSRF_COOKIE_SECURE, s.SECURE_HSTS_SECONDS,
      s.SECURE_SSL_REDIRECT, s.DEBUG, len(s.SECRET_KEY_FALLBACKS))
"""


def test_in_the_open_cookies_are_bound_to_host_and_https(tmp_path):
    plain = {name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LANG"}}
    said = subprocess.run(
        [sys.executable, "-c", SHOW],
        cwd=ROOT,
        env=plain
        | {
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "DEMO": "no",
            "SITE_ADDRESS": "https://fruit.example.com",
            "ALLOWED_HOSTS": "fruit.example.com",
            "SECRET_KEY": "q" * 25 + "w" * 25,
            "SECRET_KEY_BEFORE": "e" * 50,
            "VAR_DIR": str(tmp_path),
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    ).stdout.split()
    # "__Host-" asks for Secure, the path "/" and no domain (RFC 6265bis, section 4.1.3.2).
    expected = ["__Host-sessionid", "True", "True", "Lax", "None", "/", "__Host-csrftoken", "True", "31536000"]
    assert said == [*expected, "True", "False", "1"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/sign-in/", 200),
        ("/clients/", 302),
        ("/no-such-page", 404),
        ("/garden/", 404),
        ("/healthz", 200),
        ("/new-link/", 200),
    ],
)
def test_every_kind_of_answer_carries_its_headers(client, path, status):
    answer = client.get(path)
    assert answer.status_code == status
    policy = dict(
        part.strip().split(" ", 1) for part in answer["Content-Security-Policy"].split(";") if " " in part.strip()
    )
    assert policy["default-src"] == policy["script-src"] == policy["style-src"] == policy["worker-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"


@pytest.mark.django_db
def test_a_broken_page_says_nothing_inner_and_keeps_its_headers(office, monkeypatch):
    """v5.0.0-16.5.1: no trace, no words of the fault; a number to look it up by."""

    def broken(*_: object) -> None:
        raise RuntimeError("the secret of the cellar")

    monkeypatch.setattr("business.views.clients.clients_for_list", broken)
    browser = Browser(raise_request_exception=False)
    browser.force_login(office)
    answer = browser.get(reverse("clients"))
    assert answer.status_code == 500
    assert b"cellar" not in answer.content
    assert b"Traceback" not in answer.content
    assert "unsafe" not in answer["Content-Security-Policy"]
    assert re.fullmatch(r"[0-9a-f]{32}", answer["X-Request-ID"])


# Requests made on pages of others (v5.0.0-3.5.1, 3.5.3; RFC 8058 for the one way round).


def every_view():
    def walk(resolver):
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                yield from walk(entry)
            else:
                yield entry.name, entry.callback

    return dict(walk(get_resolver()))


def test_one_view_alone_takes_posts_without_a_token():
    assert [name for name, view in every_view().items() if getattr(view, "csrf_exempt", False)] == ["mail-stop"]


@pytest.mark.django_db
def test_acts_made_on_pages_of_others_are_refused(at_office):
    client = make.client()
    address = reverse("client-links-end", args=[client.pk])
    for site, status in (("cross-site", 403), ("same-site", 302), ("same-origin", 302), ("none", 302)):
        assert at_office.post(address, headers={"Sec-Fetch-Site": site}).status_code == status
    assert Client.objects.get(pk=client.pk).link_serial == 4
    assert at_office.get(reverse("clients"), headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


@pytest.mark.django_db
@pytest.mark.parametrize(
    "wanted",
    [
        "//evil.example.com",
        "\\\\evil.example.com",
        "https:evil.example.com",
        "https://evil.example.com/x",
        "javascript:x",
    ],
)
def test_signing_in_leads_to_our_own_pages_only(client, office, wanted):
    """v5.0.0-3.7.2"""
    answer = client.post(reverse("sign-in"), {"username": "oriel", "password": PASSWORD, "next": wanted})
    assert answer["Location"] == reverse("today")


# What a form may write (v5.0.0-15.3.3).


@pytest.mark.django_db
def test_fields_a_form_does_not_show_are_not_written(client, office, crew):
    client.force_login(office)
    asked = make.client()
    seen = client.get(reverse("client-edit", args=[asked.pk])).context["form"].initial["seen"]
    sent = {"name": asked.name, "code": asked.code, "is_active": "on", "seen": seen}
    extra = {"link_serial": "99", "search_text": "x", "id": "77", "created_at": "2001-01-01"}
    assert client.post(reverse("client-edit", args=[asked.pk]), sent | extra).status_code == 302
    asked.refresh_from_db()
    assert (asked.link_serial, asked.created_at.year > 2001) == (1, True)

    client.force_login(crew)
    mine = {
        "present_password": PASSWORD,
        "new_password": "eleven quinces by the gate",
        "again": "eleven quinces by the gate",
    }
    client.post(reverse("my-password"), mine | {"role": "owner", "sees_prices": "on", "is_superuser": "on"})
    crew.refresh_from_db()
    assert (crew.role, crew.sees_prices) == ("crew", False)


# Tables in and out (v5.0.0-1.2.10; CWE-1236; RFC 4180).

NASTY = ["=1+1", "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1+1", "=cmd|'/c calc'!A1", '=HYPERLINK("x")']


@pytest.mark.parametrize("name", NASTY)
def test_no_text_of_a_table_is_run_as_a_formula(name):
    assert harmless(name) == f"'{name}"
    assert as_written(harmless(name)) == name


@pytest.mark.parametrize(
    ("cell", "text"), [(-3.5, "-3.5"), (0, "0"), (None, ""), ("Quill", "Quill"), ("'tis", "'tis"), ("5-3", "5-3")]
)
def test_numbers_and_plain_words_stay_what_they_are(cell, text):
    assert harmless(cell) == text
    assert as_written(text) == text


def test_cells_are_quoted_as_the_standard_asks():
    """RFC 4180, section 2: lines end with CRLF; commas, quotes and line ends within quotes; quotes doubled."""
    assert csv_text(["a", "b"], [['say "no"', "x,y\nz"]]) == 'a,b\r\n"say ""no""","x,y\nz"\r\n'


# Files (v5.0.0-5.2.1, 5.2.6, 3.2.1).


def test_limits_of_photos_are_those_we_promise():
    assert LARGEST_BYTES <= 15 * 1024 * 1024
    assert MOST_PIXELS <= 60_000_000


@pytest.mark.django_db
def test_bytes_of_photos_can_run_nothing(tmp_path, settings):
    from django.core.files.base import ContentFile

    from gardens.models import Photo

    settings.MEDIA_ROOT = tmp_path
    photo = Photo(digest="0" * 64)
    photo.file.save("x.jpg", ContentFile(b"\xff\xd8<script>"), save=False)
    answer = photo_answer(photo.file)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    close(answer)


# Keys, queues, queries.


@pytest.mark.django_db
def test_links_outlive_a_change_of_key_while_the_old_one_is_named(settings):
    """v5.0.0-13.3.4"""
    settings.SECRET_KEY = "a" * 50
    client = make.client()
    token = link_token(client)
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "b" * 50, ["a" * 50]
    assert client_of_token(token) == client
    settings.SECRET_KEY_FALLBACKS = []
    assert client_of_token(token) is None


def test_nothing_of_ours_is_pickled():
    """v5.0.0-1.5.2: sessions, queue and cache carry JSON; no module reads pickles."""
    from deploy.celery import app

    assert app.conf.accept_content == ["json"] or set(app.conf.accept_content) == {"json"}
    assert app.conf.task_serializer == "json"
    assert live.SESSION_SERIALIZER == "django.contrib.sessions.serializers.JSONSerializer"
    assert pickle.__name__ not in " ".join(
        alias.name
        for _, tree in modules()
        for node in __import__("ast").walk(tree)
        if node.__class__.__name__ in ("Import", "ImportFrom")
        for alias in node.names
    )


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["clients", "invoices", "messages", "sites", "trees", "quotes", "today", "rounds"])
def test_odd_questions_in_addresses_break_no_list(at_owner, name):
    """v5.0.0-1.2.4, 1.3.3: sorting and filters come from lists of ours."""
    asked = {
        "o": "-client__user__password",
        "order_by": "password",
        "q": "' OR 1=1 --",
        "page": "-1",
        "client__email__contains": "x",
        "week": "x",
        "from": "9999-99-99",
    }
    assert at_owner.get(reverse(name), asked).status_code in {200, 302}


def test_no_secret_stands_in_the_files():
    """v5.0.0-13.3.1: the demo key says itself that it is none."""
    pattern = re.compile(r"(?:SECRET_KEY|PASSWORD|TOKEN)\s*=\s*[\"'][A-Za-z0-9+/_-]{24,}[\"']")
    found = [
        f"{name}: {m.group()[:40]}"
        for name, text in texts(".py", ".toml", ".env", below=("deploy", "business", "gardens", "scheduling"))
        for m in pattern.finditer(text)
    ]
    assert found == []


@pytest.mark.django_db
def test_words_typed_into_every_name_are_shown_as_typed(at_owner):
    """v5.0.0-1.2.1 to 1.2.3, also within drawings: what looks like markup stays text."""
    nasty = '"><svg onload=x()>{{ 7*7 }}</script>'
    make.profile()
    client = make.client(name=nasty)
    site = make_garden.site(client=client, name=nasty, hazards=nasty, access_notes=nasty)
    tree = make_garden.tree(support=make_garden.support(site=site, name=nasty), label=nasty)
    for address in (
        reverse("clients"),
        reverse("client", args=[client.pk]),
        reverse("sites"),
        reverse("site", args=[site.pk]),
        reverse("support", args=[tree.support_id]),
        reverse("tree", args=[tree.pk]),
        reverse("trees"),
    ):
        page = at_owner.get(address).content.decode()
        assert "<svg onload" not in page, address
        assert ">{{ 7*7 }}</script>" not in page, address
        assert "&lt;svg onload=x()&gt;" in page, address


@pytest.mark.django_db
def test_tries_are_counted_without_locking_the_owner_out(owner):
    """v5.0.0-6.1.1, 6.3.1: a stranger's guesses slow the stranger, not the person at their usual place."""
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC), tick=False):
        here, there = Browser(REMOTE_ADDR="192.0.2.7"), Browser(REMOTE_ADDR="203.0.113.9")
        ask = {"username": "olwen", "password": PASSWORD}
        assert here.post(reverse("sign-in"), ask).status_code == 302
        statuses = [there.post(reverse("sign-in"), ask | {"password": "x"}).status_code for _ in range(10)]
        assert statuses == [422] * 5 + [429] * 5
        assert Browser(REMOTE_ADDR="192.0.2.7").post(reverse("sign-in"), ask).status_code == 302
