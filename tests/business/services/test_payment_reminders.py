"""The ladder of payment reminders: in order, once each, never for who is to be left in peace."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from business import clock
from business.errors import AlreadyDone, BadInput
from business.models import Charge, LateInterestRate, Message, PaymentReminder, ReminderHold, ReminderStep
from business.queries.late_money import interest_on, late_invoices, late_rows, our_steps
from business.services.archive import content_of
from business.services.invoices import credit_invoice
from business.services.payment_reminders import charge_late_claim, send_reminder, take_step, write_due_reminders
from business.services.reminder_ladder import hold, lift, save_ladder
from tests import make
from tests.business.documents.papers import fonts_of, text_of

pytestmark = pytest.mark.django_db

# Issued on 1 April with 30 days to pay: due on Friday, 1 May 2026.
DUE = date(2026, 5, 1)


def at(month: int, day: int, hour: int = 10) -> datetime:
    return datetime(2026, month, day, hour, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _business():
    make.profile(charges_late_interest=True)
    LateInterestRate.objects.create(
        regime="uk", valid_from=date(2026, 1, 1), percent=Decimal("11.75"), source="Bank of England, made up"
    )


@pytest.fixture
def invoice():
    return make.invoice(client=make.client(kind="organisation", name="Bramley Hall"), amounts=("1000.00",))


def run_by_itself():
    steps = [
        {
            "name": step.name,
            "days_late": step.days_late,
            "text": step.text,
            "names_interest": step.names_interest,
            "is_for_a_person": step.is_for_a_person,
            "fee": None,
        }
        for step in our_steps()
    ]
    save_ladder(steps=steps, sends_by_itself=True)


def sent(invoice):
    return list(PaymentReminder.objects.filter(invoice=invoice).values_list("step", "made_on"))


def test_nothing_goes_by_itself_until_asked_for(invoice):
    assert write_due_reminders(at=at(6, 1)) == 0
    run_by_itself()
    assert write_due_reminders(at=at(6, 1)) == 1


def test_each_step_is_taken_on_its_day_and_once(invoice):
    run_by_itself()
    days = [at(5, day) for day in range(1, 30)] + [at(6, day) for day in range(1, 30)]
    for moment in days:
        write_due_reminders(at=moment)
        write_due_reminders(at=moment)
    # Three days late is Monday 4 May, fourteen Friday 15 May, thirty Sunday 31 May: it goes on Monday.
    assert sent(invoice) == [(1, date(2026, 5, 4)), (2, date(2026, 5, 15)), (3, date(2026, 6, 1))]


@pytest.mark.parametrize("moment", [at(5, 9), at(5, 10), at(5, 11, hour=5), at(5, 11, hour=20)])
def test_nobody_is_reminded_on_weekends_and_at_night(invoice, moment):
    run_by_itself()
    assert write_due_reminders(at=moment) == 0


def test_a_step_makes_one_paper_and_one_mail(invoice, tmp_path):
    reminder = take_step(invoice=invoice, at=at(5, 5))
    for _ in range(2):
        send_reminder(reminder_id=reminder.pk)
    (mail,) = Message.objects.filter(kind="payment_reminder")
    assert mail.key == f"payment_reminder:{invoice.pk}:1:{invoice.client.email}"
    assert "1 May 2026" in mail.body
    reminder.refresh_from_db()
    assert reminder.document in mail.documents.all()
    text = text_of(content_of(reminder.document), tmp_path)
    assert "£1,200.00" in text
    assert invoice.number in text


def test_a_settled_invoice_is_never_reminded_of(invoice):
    run_by_itself()
    make.payment(invoice=invoice, amount=invoice.gross)
    assert write_due_reminders(at=at(6, 1)) == 0
    with pytest.raises(BadInput, match="not late"):
        take_step(invoice=invoice, at=at(6, 1))


def test_a_credited_invoice_is_never_reminded_of(invoice):
    run_by_itself()
    credit_invoice(invoice=invoice, reason="wrong garden", credited_on=date(2026, 5, 2))
    assert write_due_reminders(at=at(6, 1)) == 0


def test_paid_before_the_letter_goes_nothing_is_sent(invoice):
    reminder = take_step(invoice=invoice, at=at(5, 5))
    make.payment(invoice=invoice, amount=invoice.gross)
    assert send_reminder(reminder_id=reminder.pk) is None
    assert not PaymentReminder.objects.exists()
    assert not Message.objects.filter(kind="payment_reminder").exists()


def test_a_mail_that_still_waits_when_the_money_comes_is_stopped(invoice):
    reminder = take_step(invoice=invoice, at=at(5, 5))
    send_reminder(reminder_id=reminder.pk)
    assert Message.objects.get(kind="payment_reminder").state == Message.State.WAITING
    make.payment(invoice=invoice, amount=invoice.gross)
    message = Message.objects.get(kind="payment_reminder")
    assert (message.state, message.error) == (Message.State.STOPPED, "The invoice was settled meanwhile")


@pytest.mark.parametrize("kind", ReminderHold.Kind.values)
@pytest.mark.parametrize("whole_client", [False, True])
def test_who_is_held_is_left_in_peace(invoice, kind, whole_client):
    run_by_itself()
    row = hold(client=invoice.client, invoice=None if whole_client else invoice, kind=kind, reason="says the pear died")
    assert write_due_reminders(at=at(6, 1)) == 0
    with pytest.raises(BadInput, match="says the pear died"):
        take_step(invoice=invoice, at=at(6, 1))
    lift(hold=row)
    assert write_due_reminders(at=at(6, 1)) == 1
    with pytest.raises(AlreadyDone):
        lift(hold=row)


def test_a_hold_with_a_last_day_ends_by_itself(invoice):
    until = clock.now().date()
    hold(client=invoice.client, invoice=invoice, reason="away", until=until)
    assert late_rows(late_invoices(on=until), on=until)[0].hold is not None
    later = date.fromordinal(until.toordinal() + 1)
    assert late_rows(late_invoices(on=later), on=later)[0].hold is None


def test_a_hold_needs_its_reason(invoice):
    with pytest.raises(BadInput, match="say why"):
        hold(client=invoice.client, reason=" ")


def test_two_letters_never_go_on_one_day(invoice):
    take_step(invoice=invoice, at=at(6, 1))
    with pytest.raises(AlreadyDone, match="today"):
        take_step(invoice=invoice, at=at(6, 1))


def test_after_the_letters_a_person_decides(invoice):
    for day in (1, 12, 28):
        take_step(invoice=invoice, at=at(7, day))
    with pytest.raises(BadInput, match="decide"):
        take_step(invoice=invoice, at=at(9, 1))


def test_the_last_letter_reckons_the_interest(invoice, tmp_path):
    *_, reminder = [take_step(invoice=invoice, at=moment) for moment in (at(5, 4), at(5, 15), at(6, 1))]
    # 1,200 · 11.75 % · 31/365 = 11.975…; Act 1998 section 5A: 70 for a debt of 1,000 up to 10,000.
    assert (reminder.interest, reminder.fixed_sum) == (Decimal("11.980"), Decimal(70))
    send_reminder(reminder_id=reminder.pk)
    reminder.refresh_from_db()
    content = content_of(reminder.document)
    text = text_of(content, tmp_path)
    for wanted in ("31 days", "11.75%", "£1,281.98", "Bank of England base rate"):
        assert wanted in text, wanted
    assert all(font.is_embedded for font in fonts_of(content, tmp_path))


def test_interest_becomes_a_charge_only_when_asked(invoice, owner, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: at(6, 1))
    take_step(invoice=invoice, at=at(6, 1))
    assert not Charge.objects.filter(reference__startswith="late:").exists()
    made = charge_late_claim(invoice=invoice, by=owner)
    assert [(row.amount, row.tax_treatment) for row in made] == [
        (Decimal("11.980"), "outside"),
        (Decimal(70), "outside"),
    ]
    with pytest.raises(AlreadyDone):
        charge_late_claim(invoice=invoice, by=owner)
    monkeypatch.setattr(clock, "now", lambda: at(6, 11))
    # Ten days more: 1,200 · 11.75 % · 41/365 = 15.84; only what was not charged before.
    (more,) = charge_late_claim(invoice=invoice, by=owner)
    assert more.amount == Decimal("3.860")


def test_a_household_owes_no_late_interest():
    invoice = make.invoice(client=make.client(kind="person"))
    found = interest_on(invoice, on=date(2026, 7, 1))
    assert found.claim is None
    assert "households" in found.why_not


def test_a_missing_rate_is_named_and_hurts_nothing(invoice):
    LateInterestRate.objects.all().delete()
    found = interest_on(invoice, on=date(2026, 7, 1))
    assert found.claim is None
    assert "enter the rate" in found.why_not
    assert take_step(invoice=invoice, at=at(6, 1)).interest == 0


def test_part_payments_lower_what_bears_interest(invoice):
    make.payment(invoice=invoice, amount=Decimal(600), received_on=date(2026, 5, 11))
    claim = interest_on(invoice, on=date(2026, 6, 1)).claim
    assert [(row.piece, row.days) for row in claim.periods] == [(Decimal(600), 10), (Decimal(600), 31)]


def test_html_in_a_reminder_is_shown_as_text(tmp_path):
    client = make.client(name="<b>Otto</b>", greeting="Dear <script>alert(1)</script>")
    invoice = make.invoice(client=client)
    step = {"name": "<i>Again</i>", "days_late": 3, "text": "Pay {open} <img src=x> {secret}"}
    save_ladder(steps=[step])
    reminder = take_step(invoice=invoice, at=at(5, 10))
    send_reminder(reminder_id=reminder.pk)
    reminder.refresh_from_db()
    text = text_of(content_of(reminder.document), tmp_path)
    for wanted in ("<b>Otto</b>", "<script>alert(1)</script>", "<i>Again</i>", "Pay £120.00 <img src=x> {secret}"):
        assert wanted in text, wanted


def test_a_client_without_mail_gets_a_paper_to_post():
    invoice = make.invoice(client=make.client(email=""))
    reminder = take_step(invoice=invoice, at=at(5, 10))
    send_reminder(reminder_id=reminder.pk)
    reminder.refresh_from_db()
    assert (reminder.channel, reminder.document is not None) == ("post", True)
    assert not Message.objects.filter(kind="payment_reminder").exists()


@pytest.mark.parametrize(
    ("steps", "wanted"),
    [
        ([], "keep at least one"),
        ([{"name": "A", "days_late": 3, "text": "x"}, {"name": "B", "days_late": 3, "text": "y"}], "one day"),
        (
            [{"name": "A", "days_late": 3, "is_for_a_person": True}, {"name": "B", "days_late": 9, "text": "y"}],
            "last step",
        ),
        ([{"name": "A", "days_late": 3, "text": ""}], "says something"),
    ],
)
def test_a_wrong_ladder_is_refused_and_nothing_changes(steps, wanted):
    with pytest.raises(BadInput, match=wanted):
        save_ladder(steps=steps)
    assert not ReminderStep.objects.exists()
