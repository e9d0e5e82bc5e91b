"""Mail the program sends, held against the words of RFC 8058, RFC 2369 and RFC 3834."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

import pytest
from django.test import Client as Browser

from business.models import Message
from business.services import messages
from business.services.client_links import STOPPABLE
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def house(settings):
    settings.SITE_ADDRESS = "https://garden.example.com"
    make.profile()


def mail(kind: str = "reminder", *, to_client: bool = True, **more):
    message = make.message(kind=kind, client=make.client() if to_client else None, **more)
    return messages._mail(message).message()


@pytest.mark.parametrize("kind", sorted(STOPPABLE))
def test_one_click_headers_are_as_the_standard_words_them(kind):
    """RFC 8058, section 3.1: List-Unsubscribe with one HTTPS URI; List-Unsubscribe-Post with exactly this value."""
    sent = mail(kind)
    addresses = re.findall(r"<([^>]+)>", sent["List-Unsubscribe"])
    assert [urlsplit(address).scheme for address in addresses].count("https") == 1
    assert sent["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert len(sent.get_all("List-Unsubscribe")) == len(sent.get_all("List-Unsubscribe-Post")) == 1


def test_the_post_of_a_mail_program_stops_and_redirects_nowhere():
    """RFC 8058, section 3.2: the POST carries List-Unsubscribe=One-Click, no cookies, and is not to be redirected; the
    address alone names the recipient and the list, and is hard to forge (3.1).
    """
    message = make.message(client=make.client())
    address = re.search(r"<([^>]+)>", messages._mail(message).message()["List-Unsubscribe"])[1]
    program = Browser(enforce_csrf_checks=True, headers={"Sec-Fetch-Site": "cross-site"})
    for content in ("application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        body = "List-Unsubscribe=One-Click"
        if content.startswith("multipart"):
            body = '--x\r\nContent-Disposition: form-data; name="List-Unsubscribe"\r\n\r\nOne-Click\r\n--x--\r\n'
        answer = program.post(urlsplit(address).path, body, content_type=content)
        assert answer.status_code == 200
    message.client.refresh_from_db()
    assert message.client.stopped_kinds == ["reminder"]
    forged = urlsplit(address).path[:-4] + "AAAA"
    assert (
        program.post(forged, "List-Unsubscribe=One-Click", content_type="application/x-www-form-urlencoded").status_code
        == 404
    )


def test_a_get_of_the_stop_address_stops_nothing():
    """RFC 8058, section 1: filters of mail fetch every address; only the POST may count."""
    message = make.message(client=make.client())
    path = urlsplit(re.search(r"<([^>]+)>", messages._mail(message).message()["List-Unsubscribe"])[1]).path
    for method in ("get", "head", "get"):
        assert getattr(Browser(), method)(path).status_code == 200
    message.client.refresh_from_db()
    assert message.client.stopped_kinds == []


def test_without_https_no_one_click_is_promised(settings):
    """RFC 8058, section 3.1: the address must be https; over http the plain header of RFC 2369 remains."""
    settings.SITE_ADDRESS = "http://127.0.0.1:8000"
    sent = mail()
    assert sent["List-Unsubscribe"].startswith("<http://")
    assert sent["List-Unsubscribe-Post"] is None


@pytest.mark.parametrize("kind", sorted({*messages.KINDS_ALWAYS_SENT, "visit_changed", "bank_changed"}))
def test_what_cannot_be_stopped_offers_no_stop(kind):
    assert mail(kind)["List-Unsubscribe"] is None


@pytest.mark.parametrize("kind", ["reminder", "invoice", "garden_link", "windows_closing"])
def test_every_mail_says_that_a_machine_made_it(kind):
    """RFC 3834, section 5: Auto-Submitted with a keyword other than “no”, so that no machine answers it; RFC 5322,
    3.6.4: one Message-ID, the same for every copy.
    """
    message = make.message(kind=kind, client=make.client())
    first, second = messages._mail(message).message(), messages._mail(message).message()
    assert first["Auto-Submitted"] == "auto-generated"
    assert first["Message-ID"] == second["Message-ID"] == message.message_id
    assert re.fullmatch(r"<[^<>@\s]+@[^<>@\s]+>", first["Message-ID"])
    assert first["Precedence"] is None  # RFC 3834, 3.1.8 and 5: not a substitute, and not needed


@pytest.mark.parametrize("nasty", ["We come\r\nBcc: x@example.com", "We come\nX-Evil: 1"])
def test_words_cannot_add_headers(nasty):
    """RFC 5322, 2.2: a header ends with its line. ASVS v5.0.0-1.3.11."""
    message = make.message(subject=nasty)
    sent = messages._mail(message).message()
    assert sent["Bcc"] is None
    assert sent["X-Evil"] is None
    assert Message.objects.get().subject == " ".join(nasty.split())
