"""The pages of late invoices and of statements."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from business import clock
from business.models import ArchivedDocument, Charge, LateInterestRate, Message, PaymentReminder, ReminderStep
from business.services.reminder_ladder import hold
from tests import make
from tests.business.documents.papers import fonts_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile(charges_late_interest=True)


@pytest.fixture
def invoice():
    return make.invoice(
        client=make.client(name="Bramley Hall", kind="organisation"),
        issued_on=clock.now().date() - timedelta(days=50),
    )


def ladder_data(**values):
    data = {
        "sends_by_itself": "on",
        "from_hour": "8",
        "until_hour": "17",
        "steps-TOTAL_FORMS": "2",
        "steps-INITIAL_FORMS": "0",
        "steps-0-name": "A word",
        "steps-0-days_late": "5",
        "steps-0-text": "Invoice {number} is still open.",
        "steps-1-name": "You decide",
        "steps-1-days_late": "20",
        "steps-1-is_for_a_person": "on",
    }
    return {**data, **values}


def test_the_list_says_what_comes_next_and_when(at_owner, invoice):
    page = at_owner.get(reverse("late-invoices")).content.decode()
    for words in (invoice.number, "Bramley Hall", "20 days", "Reminder", "due now"):
        assert words in page, words


def test_an_empty_list_says_what_will_stand_there(at_owner):
    assert "Nothing is late" in at_owner.get(reverse("late-invoices")).content.decode()


def test_a_press_takes_the_next_step_and_logs_it(at_owner, owner, invoice):
    answer = at_owner.post(reverse("invoice-remind", args=[invoice.pk]), follow=True)
    page = answer.content.decode()
    assert "Reminder of invoice" in page
    assert f"by {owner.name}" in page
    assert PaymentReminder.objects.get().step == 1
    # Pressed again on the same day: refused, with the reason.
    again = at_owner.post(reverse("invoice-remind", args=[invoice.pk]))
    assert again.status_code == 422
    assert PaymentReminder.objects.count() == 1


def test_holding_an_invoice_stops_its_button(at_owner, invoice):
    address = reverse("invoice-hold", args=[invoice.pk])
    assert at_owner.post(address, {"kind": "disputed", "reason": ""}).status_code == 422
    at_owner.post(address, {"kind": "disputed", "reason": "the wire is slack"})
    page = at_owner.get(reverse("late-invoices")).content.decode()
    assert "the wire is slack" in page
    assert reverse("invoice-remind", args=[invoice.pk]) not in page
    page = at_owner.get(reverse("invoice", args=[invoice.pk])).content.decode()
    assert "Disputed: the wire is slack" in page
    lift = reverse("hold-lift", args=[invoice.reminder_holds.get().pk])
    assert at_owner.post(lift).status_code == 302
    assert at_owner.post(lift).status_code == 404


def test_a_client_left_in_peace_stands_on_both_pages(at_owner, invoice):
    at_owner.post(reverse("client-hold", args=[invoice.client_id]), {"kind": "opted_out", "reason": "a friend"})
    for address in (reverse("late-invoices"), reverse("client", args=[invoice.client_id])):
        assert "a friend" in at_owner.get(address).content.decode()


def test_the_steps_are_changed_on_their_page(at_owner, invoice):
    address = reverse("reminder-ladder")
    assert "Second reminder" in at_owner.get(address).content.decode()
    assert at_owner.post(address, ladder_data()).status_code == 302
    assert list(ReminderStep.objects.values_list("number", "name", "days_late")) == [
        (1, "A word", 5),
        (2, "You decide", 20),
    ]
    page = at_owner.get(reverse("late-invoices")).content.decode()
    assert "go by themselves" in page


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"steps-0-text": ""}, "Say what the letter says"),
        ({"steps-0-days_late": ""}, "from 1 to 365"),
        ({"steps-1-days_late": "5"}, "two steps fall on one day"),
        ({"until_hour": "7"}, "hours in order"),
    ],
)
def test_wrong_steps_are_answered_with_what_is_right(at_owner, wrong, words):
    answer = at_owner.post(reverse("reminder-ladder"), ladder_data(**wrong))
    assert answer.status_code == 422
    assert words.casefold() in answer.content.decode().casefold()
    assert not ReminderStep.objects.exists()


def test_interest_is_shown_with_its_reckoning_and_charged_on_request(at_owner, invoice):
    page = at_owner.get(reverse("invoice", args=[invoice.pk])).content.decode()
    assert "enter the rate of that half-year" in page
    rate = {"regime": "uk", "percent": "11.75", "valid_from": "2020-01-01", "source": "Bank of England"}
    assert at_owner.post(reverse("late-rate-new"), {**rate, "percent": "111"}).status_code == 422
    assert at_owner.post(reverse("late-rate-new"), rate).status_code == 302
    assert LateInterestRate.objects.get().percent == Decimal("11.75")
    page = at_owner.get(reverse("invoice", args=[invoice.pk])).content.decode()
    # 120 · 11.75 % · 20/365 = 0.773
    for words in ("11.75%", "20 days", "0.773", "£0.77", "£40.00", "÷ 365"):
        assert words in page, words
    assert not Charge.objects.filter(reference__startswith="late:").exists()
    assert at_owner.post(reverse("invoice-late-claim", args=[invoice.pk])).status_code == 302
    assert Charge.objects.filter(reference__startswith="late:").count() == 2
    assert at_owner.post(reverse("invoice-late-claim", args=[invoice.pk])).status_code == 422


@pytest.mark.parametrize("person", ["crew", "office_without_prices", "accountant"])
def test_who_does_not_change_books_changes_nothing(client, person, invoice, request):
    if person == "office_without_prices":
        from tests.conftest import make_staff

        who = make_staff("nell", "office")
    else:
        who = request.getfixturevalue(person)
    client.force_login(who)
    row = hold(client=invoice.client, reason="x")
    for name, number in (
        ("invoice-remind", invoice.pk),
        ("invoice-hold", invoice.pk),
        ("invoice-late-claim", invoice.pk),
        ("client-hold", invoice.client_id),
        ("client-statement-mail", invoice.client_id),
        ("hold-lift", row.pk),
    ):
        assert client.post(reverse(name, args=[number]), {"kind": "held", "reason": "y"}).status_code == 404, name
    assert client.get(reverse("reminder-ladder")).status_code == 404
    assert client.get(reverse("late-invoices")).status_code == (200 if person == "accountant" else 404)
    assert client.get(reverse("client-statement", args=[invoice.client_id])).status_code == (
        200 if person == "accountant" else 404
    )


def test_a_mail_about_money_hides_from_those_without_prices(client, invoice):
    from tests.conftest import make_staff

    make.message(kind="payment_reminder", subject="Second reminder of much money")
    client.force_login(make_staff("nell", "office"))
    assert "much money" not in client.get(reverse("messages")).content.decode()


# Statements


@pytest.fixture
def period(invoice):
    return {"since": "2026-01-01", "until": str(clock.now().date()), "currency": "GBP"}


def test_a_statement_reconciles_on_page_and_paper(at_owner, invoice, period, tmp_path):
    make.payment(invoice=invoice, amount=Decimal(50), received_on=invoice.issued_on + timedelta(days=5))
    make.payment(client=invoice.client, amount=Decimal(100), received_on=clock.now().date(), invoice=invoice)
    address = reverse("client-statement", args=[invoice.client_id])
    page = at_owner.get(address, period).content.decode()
    # 120 charged, 150 paid: 30 too much.
    for words in (f"Invoice {invoice.number}", "In your favour", "£30.00"):
        assert words in page, words
    answer = at_owner.get(reverse("client-statement-pdf", args=[invoice.client_id]), period)
    text = text_of(answer.content, tmp_path)
    for words in ("Statement of account", "Bramley Hall", "£120.00", "In your favour", "£30.00"):
        assert words in text, words
    assert all(font.is_embedded for font in fonts_of(answer.content, tmp_path))


def test_currencies_are_never_mixed(at_owner, invoice, period):
    make.payment(client=invoice.client, amount=Decimal(77), currency="EUR", received_on=date(2026, 10, 1))
    address = reverse("client-statement", args=[invoice.client_id])
    pounds = at_owner.get(address, period).content.decode()
    euros = at_owner.get(address, {**period, "currency": "EUR"}).content.decode()
    assert "€77.00" not in pounds
    assert invoice.number not in euros
    assert "€77.00" in euros


def test_a_statement_is_kept_and_mailed_once(at_owner, invoice, period):
    address = reverse("client-statement-mail", args=[invoice.client_id])
    for _ in range(2):
        assert at_owner.post(address, period).status_code == 302
    assert Message.objects.filter(kind="statement").count() == 1
    kept = ArchivedDocument.objects.get(kind="statement")
    assert kept.client == invoice.client


def test_a_period_that_ends_before_it_begins_is_refused(at_owner, invoice, period):
    address = reverse("client-statement", args=[invoice.client_id])
    answer = at_owner.get(address, {**period, "until": "2025-01-01"})
    assert answer.status_code == 422
    assert "after the first one" in answer.content.decode()


def test_html_in_a_statement_is_shown_as_text(invoice, tmp_path):
    from business.services.statements import statement_paper_of

    invoice.client.name = "<b>Otto</b>"
    invoice.client.save()
    make.payment(client=invoice.client, reference="<script>x</script>", received_on=clock.now().date())
    paper = statement_paper_of(client=invoice.client, currency="GBP", since=date(2026, 1, 1), until=clock.now().date())
    text = text_of(paper.content, tmp_path)
    assert "<b>Otto</b>" in text
    assert "<script>" in text
