"""A visit under the terms agreed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.amounts import line_amount
from business.money.pricing import HourCost, Material, Terms, Work, billed_hours, hour_price_to_break_even, price_visit

WIRE = Material(text="Wire 2.5 mm", quantity=Decimal(10), unit="metre", unit_cost=Decimal("0.42"))
HOURLY = Terms(basis="by_hour", hour_price=Decimal(36))


def priced(terms, work):
    return {line.part: line.amount for line in price_visit(terms, work)}


@pytest.mark.parametrize(("minutes", "hours"), [(0, "0"), (1, "0.25"), (15, "0.25"), (16, "0.5"), (190, "3.25")])
def test_minutes_are_rounded_up_to_quarter_hours(minutes, hours):
    assert billed_hours(minutes, rounding_minutes=15) == Decimal(hours)


def test_a_price_for_the_visit_does_not_count_minutes():
    terms = Terms(basis="by_visit", visit_price=Decimal(85))

    assert priced(terms, Work(person_minutes=500)) == {"work": Decimal(85)}


def test_trees_are_counted_where_trees_are_agreed():
    terms = Terms(basis="per_tree", tree_price=Decimal("12.50"))

    assert priced(terms, Work(person_minutes=60, trees=7)) == {"work": Decimal("87.50")}


def test_short_work_is_brought_up_to_the_minimum():
    terms = Terms(basis="by_hour", hour_price=Decimal(36), minimum_charge=Decimal(72))

    assert priced(terms, Work(person_minutes=30)) == {"work": Decimal(18), "minimum": Decimal(54)}


def test_no_minimum_where_the_way_is_shared():
    terms = Terms(basis="by_hour", hour_price=Decimal(36), minimum_charge=Decimal(72))

    assert priced(terms, Work(person_minutes=30, shares_travel=True)) == {"work": Decimal(18)}


def test_a_discount_leaves_travel_alone():
    terms = Terms(basis="by_hour", hour_price=Decimal(36), travel_price=Decimal(12), discount_percent=Decimal(10))

    assert priced(terms, Work(person_minutes=60)) == {
        "work": Decimal(36),
        "discount": Decimal("-3.60"),
        "travel": Decimal(12),
    }


def test_visits_within_the_season_s_price_cost_nothing_more():
    terms = Terms(basis="season_fixed", hour_price=Decimal(36), included_visits=4)

    assert priced(terms, Work(person_minutes=200, visits_before=3)) == {}
    assert priced(terms, Work(person_minutes=60, visits_before=4)) == {"work": Decimal(36)}


def test_materials_are_charged_beside_the_season_s_price():
    terms = Terms(basis="season_fixed", included_visits=None, materials_markup_percent=Decimal(20))

    assert priced(terms, Work(person_minutes=60, materials=[WIRE])) == {"material-1": Decimal("5.04")}


@given(
    st.integers(min_value=1, max_value=2000),
    st.integers(min_value=1, max_value=60),
    st.decimals(min_value=1, max_value=200, places=2),
    st.decimals(min_value=0, max_value=60, places=2),
)
def test_quantity_times_price_gives_the_amount_on_paper(minutes, step, hour_price, markup):
    terms = Terms(basis="by_hour", hour_price=hour_price, rounding_minutes=step, materials_markup_percent=markup)

    for line in price_visit(terms, Work(person_minutes=minutes, materials=[WIRE])):
        assert line.amount == line_amount(quantity=line.quantity, unit_price=line.unit_price)


def test_terms_without_their_price_cannot_be_made():
    with pytest.raises(ValueError, match="need their price"):
        Terms(basis="per_tree")


def test_break_even_needs_hours_that_can_be_billed():
    with pytest.raises(ValueError, match="billable_hours"):
        HourCost(
            wage=Decimal(15),
            on_cost_percent=Decimal(20),
            paid_hours=Decimal(1700),
            overhead=Decimal(9000),
            billable_hours=Decimal(0),
        )


def test_a_margin_raises_the_price_of_the_hour():
    cost = HourCost(
        wage=Decimal(15),
        on_cost_percent=Decimal(20),
        paid_hours=Decimal(1700),
        overhead=Decimal(9000),
        billable_hours=Decimal(1105),
    )

    assert hour_price_to_break_even(cost) < hour_price_to_break_even(cost, margin_percent=Decimal(15))
