"""Issuing and crediting."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from business.errors import AlreadyDone, BadInput
from business.models import Charge, Invoice, NumberSeries
from business.queries.clients import balance_of
from business.services.agreements import save_agreement
from business.services.clients import save_client
from business.services.drafts import draft_invoices
from business.services.invoices import credit_invoice, issue_invoice
from business.services.numbers import take_number
from business.services.payments import record_payment
from business.services.profile import save_profile
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def test_issuing_gives_number_day_and_due_day(office):
    draft = make.draft()

    invoice = issue_invoice(invoice=draft, by=office, issued_on=date(2026, 4, 1))

    assert (invoice.number, invoice.series, invoice.sequence) == ("2026-00001", "2026", 1)
    assert (invoice.issued_on, invoice.due_on, invoice.state) == (date(2026, 4, 1), date(2026, 5, 1), "issued")
    assert invoice.issued_by == office


def test_numbers_run_on_without_a_gap_and_begin_anew_each_year():
    days = [date(2026, 12, 30), date(2026, 12, 31), date(2027, 1, 2), date(2027, 1, 2)]

    numbers = [make.invoice(issued_on=day).number for day in days]

    assert numbers == ["2026-00001", "2026-00002", "2027-00001", "2027-00002"]


def test_issuing_twice_is_refused_and_uses_no_number():
    invoice = make.invoice()

    with pytest.raises(AlreadyDone):
        issue_invoice(invoice=invoice)

    assert NumberSeries.objects.get(name="2026").last == 1


def test_a_day_before_the_last_invoice_is_refused_and_the_number_given_back():
    make.invoice(issued_on=date(2026, 4, 2))
    draft = make.draft()

    with pytest.raises(BadInput) as refusal:
        issue_invoice(invoice=draft, issued_on=date(2026, 4, 1))

    assert "2026-04-02" in refusal.value.faults[0].wrong
    assert NumberSeries.objects.get(name="2026").last == 1


def test_every_reason_not_to_issue_is_told_at_once():
    draft = make.draft(client=make.client(address=""))
    draft.lines.all().delete()

    with pytest.raises(BadInput) as refusal:
        issue_invoice(invoice=draft)

    assert {fault.wrong for fault in refusal.value.faults} == {"has no line", "has no billing address"}
    draft.refresh_from_db()
    assert draft.is_draft


def test_before_the_business_has_a_name_nothing_is_issued(db):
    from business.models import BusinessProfile

    draft = make.draft()
    BusinessProfile.objects.all().delete()

    with pytest.raises(BadInput) as refusal:
        issue_invoice(invoice=draft)

    assert refusal.value.faults[0].where == "your business"


def test_an_issued_invoice_keeps_both_parties_as_they_were():
    client = make.client(name="Ivo Hale", address="The Barn\nLower Wallop")
    invoice = make.invoice(client=client)

    save_client(client=client, name="Ivo Hale-Quill", address="Elsewhere")
    save_profile(name="Hollis & Sons")

    invoice.refresh_from_db()
    assert (invoice.buyer["name"], invoice.buyer["address_lines"]) == ("Ivo Hale", ["The Barn", "Lower Wallop"])
    assert invoice.seller["name"] == "Hollis & Daughter"


def test_days_to_pay_follow_the_agreement():
    client = make.client()
    save_agreement(client=client, valid_from=date(2026, 1, 1), basis="by_hour", payment_terms_days=14)

    assert make.invoice(client=client, issued_on=date(2026, 4, 1)).due_on == date(2026, 4, 15)


def test_an_invoice_over_nothing_is_paid_at_once():
    assert make.invoice(amounts=("50", "-50")).state == "paid"


def test_a_number_is_taken_only_inside_a_transaction(transactional_db):
    with pytest.raises(transaction.TransactionManagementError):
        take_number("2026")


def test_the_table_refuses_an_issued_invoice_without_a_number():
    draft = make.draft()

    with pytest.raises(IntegrityError), transaction.atomic():
        Invoice.objects.filter(pk=draft.pk).update(state="issued")


def test_the_table_refuses_totals_that_do_not_add_up():
    draft = make.draft()

    with pytest.raises(IntegrityError), transaction.atomic():
        Invoice.objects.filter(pk=draft.pk).update(gross=Decimal("120.01"))


# Credit notes


def test_crediting_whole_mirrors_the_invoice():
    invoice = make.invoice(amounts=("12.13", "7.49", "33.35"))

    note = credit_invoice(invoice=invoice, reason="Wrong client", credited_on=date(2026, 4, 3))

    invoice.refresh_from_db()
    assert (note.number, note.kind, note.credits) == ("C2026-00001", "credit_note", invoice)
    assert (note.net, note.tax, note.gross) == (invoice.net, invoice.tax, invoice.gross)
    assert (invoice.state, invoice.open_amount) == ("credited", Decimal(0))
    assert [line.tax_percent for line in note.lines.all()] == [20, 20, 20]


@pytest.mark.parametrize("rounding", ["line", "document"])
@pytest.mark.parametrize("includes_tax", [False, True])
def test_crediting_piece_by_piece_ends_at_nothing(rounding, includes_tax):
    make.profile(tax_rounding=rounding, prices_include_tax=includes_tax)
    invoice = make.invoice(amounts=("10.03", "10.03", "10.03"))
    line = invoice.lines.get(position=2)

    credit_invoice(invoice=invoice, reason="a", amounts={line.pk: Decimal("3.33")}, credited_on=date(2026, 5, 1))
    credit_invoice(invoice=invoice, reason="b", amounts={line.pk: Decimal("3.33")}, credited_on=date(2026, 5, 1))
    credit_invoice(invoice=invoice, reason="c", credited_on=date(2026, 5, 1))

    invoice.refresh_from_db()
    notes = invoice.credit_notes.all()
    assert (invoice.credited, invoice.state) == (invoice.gross, "credited")
    for part in ("net", "tax", "gross"):
        assert sum(getattr(note, part) for note in notes) == getattr(invoice, part)


def test_more_than_is_left_cannot_be_credited():
    invoice = make.invoice(amounts=("100",))
    line = invoice.lines.get()
    credit_invoice(invoice=invoice, reason="Half", amounts={line.pk: Decimal(60)}, credited_on=date(2026, 5, 1))

    with pytest.raises(BadInput) as refusal:
        credit_invoice(invoice=invoice, reason="More", amounts={line.pk: Decimal(41)}, credited_on=date(2026, 5, 1))

    assert "40" in refusal.value.faults[0].remedy
    assert Invoice.objects.filter(kind="credit_note").count() == 1


def test_nothing_left_to_credit_is_refused():
    invoice = make.invoice()
    credit_invoice(invoice=invoice, reason="All", credited_on=date(2026, 5, 1))

    with pytest.raises(AlreadyDone):
        credit_invoice(invoice=invoice, reason="Again", credited_on=date(2026, 5, 1))


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_credit_note_needs_a_reason(reason):
    invoice = make.invoice()

    with pytest.raises(BadInput):
        credit_invoice(invoice=invoice, reason=reason)

    assert not NumberSeries.objects.filter(name__startswith="C").exists()


def test_a_draft_or_a_credit_note_cannot_be_credited():
    invoice = make.invoice()
    note = credit_invoice(invoice=invoice, reason="All", credited_on=date(2026, 5, 1))

    for paper in (make.draft(), note):
        with pytest.raises(BadInput):
            credit_invoice(invoice=paper, reason="No")


def test_crediting_a_paid_invoice_gives_the_client_a_balance():
    invoice = make.invoice(amounts=("100",))  # 120 with tax
    payment = make.payment(invoice=invoice, amount=Decimal(120))

    credit_invoice(
        invoice=invoice,
        reason="Broken branch",
        amounts={invoice.lines.get().pk: Decimal(25)},
        credited_on=date(2026, 5, 1),
    )

    invoice.refresh_from_db()
    payment.refresh_from_db()
    assert (invoice.paid, invoice.credited, invoice.state) == (Decimal(90), Decimal(30), "paid")
    assert (payment.free_amount, balance_of(invoice.client, currency="GBP")) == (Decimal(30), Decimal(30))


def test_charges_credited_whole_may_be_invoiced_again():
    invoice = make.invoice(amounts=("100", "20"))

    credit_invoice(invoice=invoice, reason="Wrong address", charge_again=True, credited_on=date(2026, 5, 1))

    (draft,) = draft_invoices(until=date(2030, 1, 1))
    assert (draft.net, Charge.objects.count()) == (Decimal(120), 2)


def test_charges_credited_in_part_stay_where_they_are():
    invoice = make.invoice(amounts=("100",))

    credit_invoice(
        invoice=invoice,
        reason="Part",
        amounts={invoice.lines.get().pk: Decimal(10)},
        charge_again=True,
        credited_on=date(2026, 5, 1),
    )

    assert draft_invoices(until=date(2030, 1, 1)) == []


def test_a_credit_note_before_its_invoice_is_refused():
    invoice = make.invoice(issued_on=date(2026, 4, 10))

    with pytest.raises(BadInput):
        credit_invoice(invoice=invoice, reason="Early", credited_on=date(2026, 4, 9))


# Payments move the state


def test_states_follow_what_is_paid():
    invoice = make.invoice(amounts=("100",))
    states = []
    for number, amount in enumerate(("20", "99.99", "0.01")):
        record_payment(
            client=invoice.client,
            received_on=date(2026, 4, 20),
            amount=Decimal(amount),
            key=f"p{number}",
            invoice=invoice,
        )
        invoice.refresh_from_db()
        states.append(invoice.state)

    assert states == ["part_paid", "part_paid", "paid"]
