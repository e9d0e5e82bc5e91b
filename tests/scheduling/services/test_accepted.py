"""An accepted offer becomes a visit and, when the work is done, charges: each once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from business.models import Charge
from business.services.quotes import Offered, answer_quote, draft_quote, send_quote
from gardens.services.designer import Wish, keep_design
from gardens.services.estimates import quote_design, quote_support
from gardens.services.supports import bill_of
from scheduling.models import Need, Task, Visit
from scheduling.services import accepted
from scheduling.services.accepted import take_up_quotes
from scheduling.services.reports import charge_for
from scheduling.services.seasons import plan_season
from tests import make, make_garden

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def _today(time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00")
    make.profile()
    make.price(code="hour", net_price=Decimal(40))


@pytest.fixture
def row():
    make_garden.crew()
    return make_garden.support(length_mm=20_000)


def accept(quote):
    for line in quote.lines.filter(is_unpriced=True):
        line.is_unpriced = False
        line.save()
    return answer_quote(quote=send_quote(quote=quote), accepts=True, name="Ida Client")


def accepted_support(row):
    quote = accept(quote_support(support=row, trees=[], on=TODAY))
    take_up_quotes()
    return quote


def finish(*tasks, minutes=120):
    visit = tasks[0].work_order.visit
    Task.objects.filter(pk__in=[task.pk for task in tasks]).update(
        state="done", answered_at=make_garden.utc(2027, 1, 12)
    )
    Need.objects.filter(tasks__in=tasks).update(state="done")
    Visit.objects.filter(pk=visit.pk).update(
        state="finished",
        on=date(2027, 1, 12),
        round=make_garden.visit(on=date(2027, 1, 12)).round,
        finished_at=make_garden.utc(2027, 1, 12),
        minutes_taken=minutes,
    )
    return visit


def test_an_accepted_support_becomes_a_suggested_visit(row):
    quote = accepted_support(row)

    need = Need.objects.get(rule=f"quote:{quote.pk}")
    assert (need.kind, need.support, need.state) == ("erect_support", row, "open")
    assert need.opens <= TODAY < need.best_from < need.closes
    assert "straining_wire" in dict(need.materials)
    assert need.tasks.get().work_order.visit.state == "proposed"


def test_building_is_not_squeezed_into_a_visit_that_is_planned(row):
    planned = make_garden.visit(site=row.site, on=date(2027, 1, 12), season=make_garden.season(2027))
    quote = accepted_support(row)

    ordered = Task.objects.get(need__rule=f"quote:{quote.pk}").work_order.visit
    assert ordered != planned
    assert ordered.minutes > 60


def test_work_longer_than_a_day_comes_in_days():
    make_garden.crew()
    long_row = make_garden.support(length_mm=200_000)

    quote = accepted_support(long_row)

    needs = list(Need.objects.filter(rule=f"quote:{quote.pk}").order_by("pk"))
    whole = bill_of(long_row, []).minutes
    assert len(needs) > 1
    assert sum(need.minutes for need in needs) == pytest.approx(whole)
    assert needs[0].instruction.startswith(f"Day 1 of {len(needs)}.")
    assert needs[0].materials
    assert not needs[1].materials
    visits = {task.work_order.visit for task in Task.objects.filter(need__in=needs)}
    assert len(visits) == len(needs)
    assert all(visit.minutes <= 390 for visit in visits)


def test_acceptance_asks_planning_to_take_it_up(row, monkeypatch, django_capture_on_commit_callbacks):
    asked = []
    monkeypatch.setattr("business.services.quotes.later", lambda name, **_: asked.append(name))

    accept(quote_support(support=row, trees=[], on=TODAY))

    assert asked == ["scheduling.tasks.take_up_quotes"]


def test_a_declined_offer_makes_no_work(row):
    quote = quote_support(support=row, trees=[], on=TODAY)
    quote.lines.update(is_unpriced=False)
    answer_quote(quote=send_quote(quote=quote), accepts=False, name="Ida Client")

    assert take_up_quotes() == 0
    assert not Need.objects.exists()


def test_taking_up_twice_makes_no_second_work(row):
    accepted_support(row)

    assert take_up_quotes() == 0
    assert Need.objects.count() == 1


def test_planning_the_season_anew_keeps_what_was_ordered(row):
    make_garden.tree(support=row)
    quote = accepted_support(row)
    need = Need.objects.get(rule=f"quote:{quote.pk}")

    plan_season(need.season.year)

    need.refresh_from_db()
    assert need.state == "open"
    assert Task.objects.filter(need=need, state="open").count() == 1


def test_done_work_is_charged_at_the_offered_prices_only(row):
    quote = accepted_support(row)
    visit = finish(*Task.objects.filter(need__rule=f"quote:{quote.pk}"))

    charge_for(visit_id=visit.pk)
    charge_for(visit_id=visit.pk)

    charges = Charge.objects.all()
    assert {charge.reference.rsplit(":line:")[0] for charge in charges} == {f"quote:{quote.pk}"}
    assert sum(charge.amount for charge in charges) == quote.net


def test_other_work_of_the_visit_is_charged_by_the_hour(row):
    quote = accepted_support(row)
    ordered = Task.objects.get(need__rule=f"quote:{quote.pk}")
    other = make_garden.need(tree=make_garden.tree(support=row))
    extra = Task.objects.create(
        work_order=ordered.work_order, need=other, tree=other.tree, number=1, kind=other.kind,
        instruction=other.instruction, why=other.why, minutes=ordered.minutes,
    )  # fmt: skip
    visit = finish(ordered, extra, minutes=120)

    charge_for(visit_id=visit.pk)

    # Two people for two hours; half of the minutes asked for were sold in the offer.
    hours = Charge.objects.get(reference=f"visit:{visit.pk}:work")
    assert hours.quantity == Decimal(2)
    assert Charge.objects.filter(reference__startswith=f"quote:{quote.pk}").exists()


def test_half_the_work_done_charges_nothing_of_the_offer_yet(row):
    wish = Wish(species="apple_spur", form="horizontal_tiers", rootstock="mm106", planted_on=date(2026, 12, 1))
    quote = accept(quote_design(support=row, wish=wish, on=TODAY, with_support=True))
    take_up_quotes()
    build = Task.objects.get(need__kind="erect_support")
    visit = finish(build)

    charge_for(visit_id=visit.pk)
    assert not Charge.objects.exists()

    plant = Task.objects.get(need__kind="plant")
    Need.objects.filter(pk=plant.need_id).update(state="done")
    accepted.charge_finished_offers(tasks=[plant], done_on=date(2027, 1, 20))
    assert Charge.objects.filter(reference__startswith=f"quote:{quote.pk}").count() == quote.lines.count()


def test_trees_are_planted_while_they_have_no_leaves(row):
    wish = Wish(species="apple_spur", form="horizontal_tiers", rootstock="mm106", planted_on=date(2026, 12, 1))
    accept(quote_design(support=row, wish=wish, on=TODAY, with_support=False))
    take_up_quotes()

    need = Need.objects.get()
    # Bare-root trees are planted between leaf fall and bud swell (common practice): here November to March.
    assert need.kind == "plant"
    assert need.opens >= TODAY
    assert need.best_until < date(2027, 4, 1)
    assert "cane_2400" in dict(need.materials)


def test_an_offer_about_somebody_elses_support_is_left_alone(row):
    quote = draft_quote(
        client=make.client(), title="Wires", reference=f"support:{row.pk}",
        lines=[Offered(text="Wires", unit_price=Decimal(100))],
    )  # fmt: skip
    answer_quote(quote=send_quote(quote=quote), accepts=True, name="Ida Client")

    assert take_up_quotes() == 0


def test_planted_trees_of_a_design_stand_once_the_job_is_done(row):
    wish = Wish(species="apple_spur", form="horizontal_tiers", rootstock="mm106", planted_on=date(2027, 1, 5))
    kept = keep_design(support=row, wish=wish)
    quote = accept(quote_design(support=row, wish=wish, on=TODAY, with_support=False))
    take_up_quotes()
    task = Task.objects.get(need__rule=f"quote:{quote.pk}", kind="plant")
    visit = finish(task)

    charge_for(visit_id=visit.pk)
    charge_for(visit_id=visit.pk)

    for tree in kept:
        tree.refresh_from_db()
        assert (tree.is_planned, tree.planted_on) == (False, date(2027, 1, 12))
