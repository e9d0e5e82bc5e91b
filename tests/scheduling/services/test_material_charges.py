"""Materials written down in the garden are charged once each; what has no price waits for the office."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from business.errors import AlreadyDone
from business.models import Charge
from scheduling.models import FieldAct, Visit
from scheduling.services.material_charges import charge_at
from scheduling.services.reports import charge_for
from tests import make, make_garden
from tests.make_garden import utc

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit():
    make.profile()
    make.price(code="hour", net_price=Decimal(36))
    make.price(code="straining-wire", text="Straining wire 2.5 mm", unit="metre", net_price=Decimal("0.50"))
    who = make.client()
    make.agreement(client=who, hour_price=Decimal(36), materials_markup_percent=Decimal(20))
    row = make_garden.visit(site=make_garden.site(client=who), on=utc(2026, 3, 3).date())
    row.state, row.finished_at, row.minutes_taken = Visit.State.FINISHED, utc(2026, 3, 3, 15), 60
    row.save()
    return row


def used(visit, name, quantity, unit):
    import uuid

    return FieldAct.objects.create(
        uid=uuid.uuid4(),
        kind="material",
        visit=visit,
        body={"value": {"name": name, "quantity": quantity, "unit": unit}},
        body_digest="0" * 64,
        happened_at=visit.finished_at,
        received_at=visit.finished_at,
        result="accepted",
    )


def goods_charged(visit):
    return Charge.objects.filter(reference__startswith=f"visit:{visit.pk}:material-")


def test_materials_of_a_visit_are_charged_with_mark_up(visit):
    used(visit, "straining wire", 12.5, "m")
    charge_for(visit_id=visit.pk)
    (wire,) = goods_charged(visit)
    # 0.50 and 20 % on top is 0.60 a metre; 12.5 m are 7.50.
    assert (wire.unit_price, wire.amount, wire.unit, wire.kind) == (
        Decimal("0.600"),
        Decimal("7.500"),
        "metre",
        "materials",
    )
    assert wire.text == "Straining wire 2.5 mm"


def test_charging_again_never_charges_a_material_twice(visit):
    used(visit, "straining wire", 12, "m")
    charge_for(visit_id=visit.pk)
    before = list(Charge.objects.values_list("pk", "amount"))
    assert charge_for(visit_id=visit.pk) == len(before)
    assert list(Charge.objects.values_list("pk", "amount")) == before


def test_a_material_that_comes_late_is_charged_too(visit):
    used(visit, "straining wire", 12, "m")
    charge_for(visit_id=visit.pk)
    used(visit, "straining wire", 3, "m")
    charge_for(visit_id=visit.pk)
    assert sorted(goods_charged(visit).values_list("quantity", flat=True)) == [Decimal(3), Decimal(12)]


def test_a_material_taken_back_is_not_charged(visit):
    import uuid

    act = used(visit, "straining wire", 12, "m")
    FieldAct.objects.create(
        uid=uuid.uuid4(),
        kind="withdraws",
        visit=visit,
        withdraws=act.uid,
        body={},
        body_digest="1" * 64,
        happened_at=act.happened_at,
        received_at=act.received_at,
        result="accepted",
    )
    charge_for(visit_id=visit.pk)
    assert not goods_charged(visit).exists()


@pytest.mark.parametrize(("name", "unit"), [("moon dust", "kg"), ("straining wire", "kg")])
def test_what_has_no_price_waits_for_the_office(visit, at_owner, name, unit):
    act = used(visit, name, 2, unit)
    charge_for(visit_id=visit.pk)
    act.refresh_from_db()
    assert act.is_open
    assert act.flags == ["material_unpriced"]
    assert not goods_charged(visit).exists()
    page = at_owner.get(reverse("phones")).content.decode()
    assert reverse("phone-act-charge", args=[act.pk]) in page
    answer = at_owner.post(reverse("phone-act-charge", args=[act.pk]), {"unit_cost": "4.00"})
    assert answer.status_code == 302
    (made,) = goods_charged(visit)
    assert (made.text, made.amount) == (name, Decimal("9.600"))
    act.refresh_from_db()
    assert not act.is_open
    charge_for(visit_id=visit.pk)
    act.refresh_from_db()
    assert not act.is_open
    assert goods_charged(visit).count() == 1


def test_a_wrong_cost_is_answered_with_what_is_right(visit, at_owner):
    act = used(visit, "moon dust", 2, "kg")
    charge_for(visit_id=visit.pk)
    answer = at_owner.post(reverse("phone-act-charge", args=[act.pk]), {"unit_cost": "much"})
    assert answer.status_code == 422
    assert "amount like 2.40" in answer.content.decode()


def test_a_priced_material_cannot_be_charged_by_hand(visit, owner):
    act = used(visit, "straining wire", 12, "m")
    charge_for(visit_id=visit.pk)
    with pytest.raises(AlreadyDone):
        charge_at(act=act, unit_cost=Decimal(1), by=owner)


def test_a_crew_never_names_the_cost_of_goods(visit, at_crew):
    act = used(visit, "moon dust", 2, "kg")
    charge_for(visit_id=visit.pk)
    assert at_crew.post(reverse("phone-act-charge", args=[act.pk]), {"unit_cost": "4"}).status_code == 404
