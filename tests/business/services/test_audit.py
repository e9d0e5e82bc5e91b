"""Notes of change: who, what, and only what differs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from business.models import ChangeNote
from business.queries.access import changes_open_to
from business.services.agreements import save_agreement
from business.services.audit import Actor, acting_as, note
from business.services.clients import save_client
from business.services.prices import set_price
from tests import make, make_garden

pytestmark = pytest.mark.django_db


def newest() -> ChangeNote:
    return ChangeNote.objects.order_by("-pk")[0]


def test_only_what_differs_is_kept():
    note("visit fixed", "visit:1", before={"a": 1, "b": 2, "c": 3}, after={"a": 1, "b": 5, "d": 4})
    assert (newest().before, newest().after) == ({"b": 2, "c": 3}, {"b": 5, "d": 4})


def test_what_changed_nothing_is_not_noted():
    assert note("visit fixed", "visit:1", before={"a": date(2026, 1, 1)}, after={"a": date(2026, 1, 1)}) is None
    assert not ChangeNote.objects.exists()


def test_days_and_money_are_kept_exactly():
    note("price set", "prices:1", after={"net": Decimal("36.10"), "on": date(2026, 2, 3)})
    assert newest().after == {"net": "36.10", "on": "2026-02-03"}


def test_whoever_acts_is_asked_only_when_needed():
    asked = []

    def find():
        asked.append(1)
        return Actor(words="the client, by their link")

    with acting_as(find):
        assert not asked
        note("visit agreed", "visit:1")
    assert newest().by_words == "the client, by their link"
    note("visit agreed", "visit:1")
    assert newest().by_words == "the program"
    assert len(asked) == 1


def test_a_rolled_back_change_leaves_no_note():
    from django.db import transaction

    client = make.client()
    with transaction.atomic():
        save_client(client=client, name="Other")
        transaction.set_rollback(True)
    assert not ChangeNote.objects.filter(act="client changed").exists()


def test_pages_note_who_signed_in(at_office, office):
    client = make.client(name="Rosa")
    page = at_office.get(reverse("client-edit", args=[client.pk]))
    sent = {name: value for name, value in page.context["form"].initial.items() if value is not None}
    at_office.post(reverse("client-edit", args=[client.pk]), {**sent, "name": "Rosa Quill"})

    assert (newest().act, newest().made_by) == ("client changed", office)
    assert (newest().before, newest().after) == ({"name": "Rosa"}, {"name": "Rosa Quill"})


def test_agreements_prices_and_invoices_are_noted_as_money(office):
    client = make.client()
    agreed = make.agreement(client=client)
    save_agreement(client=client, agreement=agreed, hour_price=Decimal(40))
    assert newest().after == {"hour_price": "40"}
    item = make.price()
    set_price(price_list=item.price_list, code=item.code, valid_from=item.valid_from, net_price=Decimal(44))
    assert (newest().act, newest().after) == ("price corrected", {"net_price": "44"})
    paper = make.invoice(client=client)
    assert newest().after["number"] == paper.number
    assert set(ChangeNote.objects.filter(has_money=True).values_list("act", flat=True)) >= {
        "agreement changed",
        "price corrected",
        "invoice issued",
    }


def test_notes_of_money_need_the_right_to_see_prices(owner, crew, accountant):
    make.agreement()
    blind = make.staff(role="office", sees_prices=False)
    seen = {
        who: set(changes_open_to(who).values_list("has_money", flat=True)) for who in (owner, blind, crew, accountant)
    }
    assert seen == {owner: {True, False}, blind: {False}, crew: set(), accountant: set()}


def test_a_withdrawn_record_is_told_on_the_trees_page(at_office, office):
    record = make_garden.record()
    at_office.post(reverse("record-withdraw", args=[record.pk]))

    page = at_office.get(reverse("tree", args=[record.tree_id])).content.decode()
    assert "Record withdrawn" in page
    assert f"{office.name}, " in page


def test_a_called_off_visit_is_told_on_its_page(at_office, office):
    make.profile()
    visit = make_garden.visit(on=date(2027, 1, 12))
    at_office.post(reverse("visit-act", args=[visit.pk]), {"act": "call_off", "reason": "rain"})

    page = at_office.get(reverse("visit", args=[visit.pk])).content.decode()
    assert "Visit called off" in page
    assert "reason: – → rain" in page


def test_a_plan_is_told_on_the_visits_it_moved(office):
    from scheduling.services.rounds import lay_rounds, take_back

    make.profile()
    make_garden.crew()
    visit = make_garden.visit(needs=(make_garden.need(),))
    outcome = lay_rounds(first_day=date(2027, 1, 11), last_day=date(2027, 1, 15), by=office)
    take_back(plan_id=outcome.plan.pk)

    acts = ChangeNote.objects.filter(reference=f"visit:{visit.pk}").order_by("pk")
    assert [(row.act.split(":")[0], row.by_words) for row in acts] == [
        ("placed by a plan", office.name),
        ("put back", "the program"),
    ]
