"""The pages of offers, for the office and for the client with a link."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from business.models import Charge, Quote
from business.services.quote_links import quote_token
from business.services.quotes import send_quote
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def text(answer) -> str:
    return str(answer.content.decode())


def offer(**values):
    return {
        "title": "Six pears on the south wall",
        "valid_until": "2030-01-01",
        "lines-TOTAL_FORMS": "3",
        "lines-INITIAL_FORMS": "0",
        "lines-0-text": "Six pear trees",
        "lines-0-quantity": "6",
        "lines-0-unit": "tree",
        "lines-0-unit_price": "38.50",
        **values,
    }


def test_an_offer_goes_from_the_office_to_a_yes_and_a_charge(at_office, client):
    """Write, send, answer by the link, charge: the whole way by its buttons."""
    ivo = make.client(name="Ivo Hale")
    at_office.post(reverse("quote-new", args=[ivo.pk]), offer())
    quote = Quote.objects.get()
    assert quote.net == Decimal(231)

    at_office.post(reverse("quote-send", args=[quote.pk]))
    quote.refresh_from_db()
    link = reverse("quote-answer", args=[quote_token(quote)])
    client.logout()
    assert "Six pears on the south wall" in text(client.get(link))
    assert client.get(reverse("quote-answer-pdf", args=[quote_token(quote)])).content.startswith(b"%PDF-")
    client.post(link, {"accepts": "yes", "name": "Ivo Hale", "words": "Before Christmas, if you can."})
    assert "You said yes" in text(client.get(link))

    client.force_login(make.staff(role="office"))
    client.post(reverse("quote-charge", args=[quote.pk]), {"done_on": "2026-11-20"})
    assert Charge.objects.get().amount == 231


def test_what_is_missing_in_an_offer_is_told_and_nothing_lost(at_office):
    ivo = make.client()

    answer = at_office.post(reverse("quote-new", args=[ivo.pk]), offer(**{"lines-0-unit_price": "", "title": "Pears"}))

    assert answer.status_code == 422
    assert "Give the price." in text(answer)
    assert 'value="Pears"' in text(answer)
    assert not Quote.objects.exists()


def test_an_offer_of_nothing_is_refused(at_office):
    answer = at_office.post(
        reverse("quote-new", args=[make.client().pk]), offer(**{"lines-0-text": "", "lines-0-unit_price": ""})
    )

    assert answer.status_code == 422
    assert "Say what you offer" in text(answer) or "say what you offer" in text(answer)


def test_changing_a_sent_offer_makes_a_version(at_office):
    quote = send_quote(quote=make.quote())
    assert 'value="Espalier of six pears"' in text(at_office.get(reverse("quote-edit", args=[quote.pk])))

    at_office.post(reverse("quote-edit", args=[quote.pk]), offer())

    assert list(Quote.objects.order_by("version").values_list("state", flat=True)) == ["replaced", "draft"]


def test_an_old_link_says_that_there_is_a_newer_version(client, at_office):
    quote = send_quote(quote=make.quote())
    at_office.post(reverse("quote-edit", args=[quote.pk]), offer())

    page = text(client.get(reverse("quote-answer", args=[quote_token(quote)])))

    assert "newer version" in page
    assert "Send the answer" not in page


def test_a_forged_link_is_not_there(client):
    assert client.get(reverse("quote-answer", args=["nonsense"])).status_code == 404
    assert client.get(reverse("quote-answer-pdf", args=["nonsense"])).status_code == 404


def test_an_answer_without_a_name_comes_back(client):
    quote = send_quote(quote=make.quote())

    answer = client.post(reverse("quote-answer", args=[quote_token(quote)]), {"accepts": "yes", "name": ""})

    assert answer.status_code == 422
    quote.refresh_from_db()
    assert quote.state == "sent"


def test_an_answer_by_phone_is_noted(at_office):
    quote = send_quote(quote=make.quote())

    at_office.post(reverse("quote-note-answer", args=[quote.pk]), {"accepts": "no", "name": "Ivo Hale"})

    quote.refresh_from_db()
    assert (quote.state, quote.decided_by) == ("declined", "Ivo Hale")


def test_crews_see_no_offers(at_crew):
    quote = make.quote()

    for name in ("quote", "quote-pdf", "quote-edit"):
        assert at_crew.get(reverse(name, args=[quote.pk])).status_code == 404
    assert at_crew.get(reverse("quotes")).status_code == 404


def test_before_there_is_an_offer_the_page_says_where_to_begin(at_office):
    assert "No offer yet" in text(at_office.get(reverse("quotes")))


def test_the_draft_paper_is_shown(at_office):
    assert at_office.get(reverse("quote-pdf", args=[make.quote().pk])).content.startswith(b"%PDF-")
