"""Charges gathered into drafts."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from business.errors import AlreadyDone, BadInput
from business.models import Charge, Invoice
from business.services.drafts import add_line, annotate, draft_invoices, drop_draft, merge_lines, reword, take_off
from tests import make

pytestmark = pytest.mark.django_db

FAR = date(2030, 1, 1)


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def test_each_client_gets_one_draft_of_work_done_until_the_day():
    first, second = make.client(), make.client()
    for client in (first, first, second):
        make.charge(client=client, done_on=date(2026, 3, 31))
    make.charge(client=first, done_on=date(2026, 4, 1))

    drafts = draft_invoices(until=date(2026, 3, 31))

    assert [(draft.client, draft.lines.count()) for draft in drafts] == [(first, 2), (second, 1)]
    assert Charge.objects.filter(invoice_line=None).get().done_on == date(2026, 4, 1)


def test_gathering_again_changes_nothing():
    make.charge()
    draft_invoices(until=FAR)

    assert draft_invoices(until=FAR) == []
    assert Invoice.objects.get().lines.count() == 1


def test_later_work_joins_the_same_draft_in_order_of_days():
    client = make.client()
    make.charge(client=client, done_on=date(2026, 3, 12), text="Second")
    draft_invoices(until=FAR)
    make.charge(client=client, done_on=date(2026, 2, 1), text="First")

    (draft,) = draft_invoices(until=FAR)

    assert list(draft.lines.values_list("position", "text")) == [(1, "First"), (2, "Second")]
    assert (draft.work_from, draft.work_until) == (date(2026, 2, 1), date(2026, 3, 12))


def test_currencies_are_never_mixed_on_one_paper():
    client = make.client()
    make.charge(client=client)
    make.profile(currency="EUR")
    make.charge(client=client)

    assert sorted(draft.currency for draft in draft_invoices(until=FAR)) == ["EUR", "GBP"]


def test_a_credit_larger_than_the_work_waits_for_more():
    client = make.client()
    make.charge(client=client, unit_price=Decimal(-50))

    assert draft_invoices(until=FAR) == []

    make.charge(client=client, unit_price=Decimal(80))
    (draft,) = draft_invoices(until=FAR)
    assert draft.net == 30


@pytest.mark.parametrize(("rounding", "tax"), [("line", "14.49"), ("document", "14.48")])
def test_tax_follows_the_custom_of_the_business(rounding, tax):
    make.profile(tax_rounding=rounding)

    draft = make.draft(amounts=("12.13", "7.49", "33.35", "0.99", "18.45"))

    assert (draft.net, draft.tax, draft.gross) == (Decimal("72.41"), Decimal(tax), Decimal("72.41") + Decimal(tax))
    assert sum(line.tax for line in draft.lines.all()) == draft.tax


def test_prices_with_tax_inside_keep_their_gross():
    make.profile(prices_include_tax=True)

    draft = make.draft(amounts=("100.00",))

    assert (draft.net, draft.tax, draft.gross) == (Decimal("83.33"), Decimal("16.67"), Decimal("100.00"))


def test_gathering_more_onto_gross_prices_keeps_every_line():
    make.profile(prices_include_tax=True)
    client = make.client()
    make.draft(amounts=("100.00",), client=client)
    make.charge(client=client, unit_price=Decimal(50))

    (draft,) = draft_invoices(until=FAR)

    assert draft.gross == 150


def test_a_line_taken_off_leaves_its_charge_open():
    draft = make.draft(amounts=("60", "40"))
    line = draft.lines.get(position=1)

    draft = take_off(draft=draft, line_id=line.pk)

    assert (draft.net, draft.lines.get().position) == (Decimal(40), 1)
    assert Charge.objects.filter(invoice_line=None).get().amount == 60


def test_a_line_added_by_hand_is_a_charge_too_and_once():
    draft = make.draft()
    values: dict[str, Any] = {
        "text": "Ladder hire",
        "unit_price": Decimal(25),
        "done_on": date(2026, 3, 12),
        "key": "form-1",
    }

    add_line(draft=draft, **values)
    draft = add_line(draft=draft, **values)

    assert (draft.net, draft.lines.count(), Charge.objects.count()) == (Decimal(125), 2, 2)


def test_merged_lines_keep_the_total_and_all_charges():
    draft = make.draft(amounts=("60.10", "40.20", "5"))
    lines = [line.pk for line in draft.lines.all()[:2]]

    merged = merge_lines(draft=draft, line_ids=lines, text="Two visits in March")

    assert (merged.net, merged.lines.count()) == (Decimal("105.30"), 2)
    assert merged.lines.get(text="Two visits in March").charges.count() == 2


def test_lines_of_different_tax_cannot_be_merged():
    client = make.client()
    make.tax_rate(treatment="reduced", percent=Decimal(5))
    make.charge(client=client, tax_treatment="reduced")
    draft = make.draft(client=client)

    with pytest.raises(BadInput):
        merge_lines(draft=draft, line_ids=[line.pk for line in draft.lines.all()], text="Both")


def test_words_and_notes_may_change_while_it_is_a_draft():
    draft = make.draft()

    reword(draft=draft, line_id=draft.lines.get().pk, text="Winter pruning, both walls")
    draft = annotate(draft=draft, note="Thank you for the tea.")

    assert (draft.lines.get().text, draft.note) == ("Winter pruning, both walls", "Thank you for the tea.")


def test_a_dropped_draft_leaves_its_charges_open():
    drop_draft(draft=make.draft())

    assert not Invoice.objects.exists()
    assert Charge.objects.get().is_open


@pytest.mark.parametrize("act", ["take_off", "reword", "annotate", "drop", "add"])
def test_an_issued_invoice_can_be_changed_by_none_of_these(act):
    invoice = make.invoice()
    line = invoice.lines.get().pk
    acts = {
        "take_off": lambda: take_off(draft=invoice, line_id=line),
        "reword": lambda: reword(draft=invoice, line_id=line, text="Other"),
        "annotate": lambda: annotate(draft=invoice, note="Other"),
        "drop": lambda: drop_draft(draft=invoice),
        "add": lambda: add_line(draft=invoice, text="x", unit_price=Decimal(1), done_on=FAR, key="k"),
    }

    with pytest.raises(AlreadyDone):
        acts[act]()

    invoice.refresh_from_db()
    assert (invoice.lines.get().text, invoice.note, invoice.net) == ("Winter pruning", "", Decimal(100))


def test_another_draft_s_line_is_refused():
    draft, other = make.draft(), make.draft()

    with pytest.raises(BadInput):
        take_off(draft=draft, line_id=other.lines.get().pk)
