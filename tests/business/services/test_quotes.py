"""Offers: versions, answers, and charges from them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
import time_machine

from business.errors import AlreadyDone, BadInput
from business.models import Charge, Message, Quote
from business.services.clients import end_links
from business.services.quote_links import quote_of, quote_token
from business.services.quotes import (
    Offered,
    answer_quote,
    change_quote,
    charge_quote,
    draft_quote,
    draft_quote_paper,
    send_quote,
)
from tests import make
from tests.business.documents.papers import text_of

pytestmark = pytest.mark.django_db

LINES = [
    Offered(text="Six pear trees", unit_price=Decimal("38.50"), quantity=Decimal(6), unit="tree"),
    Offered(text="Wires", unit_price=Decimal(120)),
]


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def test_an_offer_is_reckoned_like_an_invoice():
    quote = make.quote(lines=LINES)

    assert (quote.net, quote.tax, quote.gross) == (Decimal(351), Decimal("70.20"), Decimal("421.20"))
    assert quote.number.endswith("-00001")


def test_an_offer_without_lines_is_refused():
    with pytest.raises(BadInput):
        make.quote(lines=[])

    assert not Quote.objects.exists()


def test_the_same_reference_is_one_open_offer():
    client = make.client()
    first = draft_quote(client=client, title="Wires", lines=LINES, reference="support:4")

    assert draft_quote(client=client, title="Wires again", lines=LINES, reference="support:4") == first


def test_sending_keeps_the_paper_and_mails_the_link():
    quote = send_quote(quote=make.quote())

    message = Message.objects.get()
    assert quote.document is not None
    assert list(message.documents.all()) == [quote.document]
    token = message.body.split("/offer/")[1].split("/")[0]
    assert quote_of(token) == quote


def test_sending_twice_is_refused():
    quote = send_quote(quote=make.quote())

    with pytest.raises(AlreadyDone):
        send_quote(quote=quote)

    assert Message.objects.count() == 1


def test_an_offer_to_somebody_without_mail_stays_a_draft():
    quote = make.quote(client=make.client(email=""))

    with pytest.raises(BadInput):
        send_quote(quote=quote)

    quote.refresh_from_db()
    assert (quote.state, quote.document) == ("draft", None)


def test_a_draft_is_changed_in_place():
    quote = make.quote()

    changed = change_quote(quote=quote, lines=LINES, title="Six pears")

    assert (changed.pk, changed.version, changed.net, changed.lines.count()) == (quote.pk, 1, Decimal(351), 2)


def test_a_sent_offer_stays_and_gets_a_next_version():
    sent = send_quote(quote=make.quote())

    fresh = change_quote(quote=sent, lines=LINES, title="Six pears")

    sent.refresh_from_db()
    assert (sent.state, sent.net, sent.lines.count()) == ("replaced", Decimal(480), 1)
    assert (fresh.number, fresh.version, fresh.state, fresh.net) == (sent.number, 2, "draft", Decimal(351))


def test_an_answered_offer_is_not_changed():
    quote = answer_quote(quote=send_quote(quote=make.quote()), accepts=True, name="Ivo Hale")

    with pytest.raises(AlreadyDone):
        change_quote(quote=quote, lines=LINES)


def test_answering_yes_twice_is_one_answer():
    quote = send_quote(quote=make.quote())
    first = answer_quote(quote=quote, accepts=True, name="Ivo Hale")

    again = answer_quote(quote=quote, accepts=True, name="Somebody else")

    assert (again.decided_by, again.decided_at) == ("Ivo Hale", first.decided_at)


def test_yes_after_no_is_refused():
    quote = answer_quote(quote=send_quote(quote=make.quote()), accepts=False, name="Ivo Hale")

    with pytest.raises(AlreadyDone):
        answer_quote(quote=quote, accepts=True, name="Ivo Hale")


def test_a_draft_cannot_be_accepted():
    with pytest.raises(AlreadyDone):
        answer_quote(quote=make.quote(), accepts=True, name="Ivo Hale")


def test_an_offer_that_ran_out_may_be_declined_but_not_accepted():
    quote = send_quote(quote=make.quote())

    with time_machine.travel("2040-01-01 10:00 +0000"):
        with pytest.raises(AlreadyDone):
            answer_quote(quote=quote, accepts=True, name="Ivo Hale")
        assert answer_quote(quote=quote, accepts=False, name="Ivo Hale").state == "declined"


def test_an_answer_needs_a_name():
    with pytest.raises(BadInput):
        answer_quote(quote=send_quote(quote=make.quote()), accepts=True, name=" ")


def test_accepted_work_is_charged_once_at_the_prices_offered():
    quote = answer_quote(quote=send_quote(quote=make.quote(lines=LINES)), accepts=True, name="Ivo Hale")

    charge_quote(quote=quote, done_on=date(2026, 11, 20))
    charge_quote(quote=quote, done_on=date(2026, 12, 20))

    assert sorted(Charge.objects.values_list("amount", "done_on")) == [
        (Decimal(120), date(2026, 11, 20)),
        (Decimal(231), date(2026, 11, 20)),
    ]


def test_work_nobody_accepted_is_not_charged():
    with pytest.raises(BadInput):
        charge_quote(quote=send_quote(quote=make.quote()), done_on=date(2026, 11, 20))

    assert not Charge.objects.exists()


def test_a_link_opens_its_own_offer_until_links_are_ended():
    quote = send_quote(quote=make.quote())
    token = quote_token(quote)
    assert quote_of(token) == quote

    end_links(client=quote.client)

    assert quote_of(token) is None


@pytest.mark.parametrize(
    "change", [lambda t: t[:-1] + ("a" if t[-1] != "a" else "b"), lambda t: "", lambda t: "nonsense"]
)
def test_a_forged_link_opens_nothing(change):
    assert quote_of(change(quote_token(send_quote(quote=make.quote())))) is None


def test_a_draft_has_no_open_link():
    assert quote_of(quote_token(make.quote())) is None


def test_the_paper_says_what_is_and_is_not_offered(tmp_path):
    quote = make.quote(lines=LINES, words="We <b>plant</b> in November.", not_included="Watering in summer.")

    from business.documents.quotes import quote_pdf
    from business.queries.quotes import quote_by_id

    text = text_of(quote_pdf(quote_by_id(quote.pk)), tmp_path)
    for wanted in (
        quote.number,
        "6 trees",
        "£38.50",
        "£421.20",
        "We <b>plant</b> in November.",
        "Watering in summer.",
        "Name and signature",
    ):
        assert wanted in text, wanted


def test_a_line_without_a_price_is_named_and_keeps_the_offer_back():
    quote = make.quote(lines=[*LINES, Offered(text="Eye bolts, 10 mm", unit_price=None, quantity=Decimal(8))])

    assert quote.net == Decimal(351)
    assert quote.lines.get(is_unpriced=True).text == "Eye bolts, 10 mm"
    with pytest.raises(BadInput, match="Eye bolts, 10 mm"):
        send_quote(quote=quote)
    assert not Message.objects.exists()


def test_a_draft_paper_says_which_price_is_missing(tmp_path):
    quote = make.quote(lines=[Offered(text="Eye bolts, 10 mm", unit_price=None)])

    assert "no price yet" in text_of(draft_quote_paper(quote=quote), tmp_path)


def test_a_line_that_gets_its_price_lets_the_offer_go():
    quote = make.quote(lines=[Offered(text="Eye bolts, 10 mm", unit_price=None, quantity=Decimal(8))])

    priced = change_quote(quote=quote, lines=[Offered(text="Eye bolts, 10 mm", unit_price=Decimal(2))])

    assert send_quote(quote=priced).state == "sent"
