"""Prices of gardening work against the sums of the trade. Common practice; the examples are worked by hand."""

from __future__ import annotations

from decimal import Decimal

from business.money.allocation import instalments
from business.money.pricing import HourCost, Material, Terms, Work, hour_price_to_break_even, price_visit

D = Decimal


def test_an_hour_that_pays_wages_and_overhead():
    # 15.00 an hour, 20 % on top, 1,700 h paid, 9,000 overhead, 65 % of the hours billable.
    cost = HourCost(wage=D(15), on_cost_percent=D(20), paid_hours=D(1700), overhead=D(9000), billable_hours=D(1105))

    assert hour_price_to_break_even(cost) == D("35.84")
    assert hour_price_to_break_even(cost, margin_percent=D(15)) == D("42.16")


def test_a_visit_of_two_people_with_wire_and_travel():
    # 2 people × 95 min × 36.00/h = 114.00; wire 14.20 + 20 % = 17.04; travel 12.00.
    terms = Terms(
        basis="by_hour",
        hour_price=D(36),
        rounding_minutes=5,
        travel_price=D(12),
        materials_markup_percent=D(20),
    )
    wire = Material(text="Wire", quantity=D(1), unit="lump", unit_cost=D("14.20"))

    lines = price_visit(terms, Work(person_minutes=190, materials=[wire]))

    assert [line.amount for line in lines] == [D("114.00"), D("17.04"), D("12.00")]
    assert sum(line.amount for line in lines) == D("143.04")


def test_forty_minutes_alone_cost_the_minimum():
    # 40 min at 36.00/h are 24.00; two hours are the least.
    terms = Terms(basis="by_hour", hour_price=D(36), rounding_minutes=5, minimum_charge=D(72))

    assert sum(line.amount for line in price_visit(terms, Work(person_minutes=40))) == D("72.00")


def test_a_season_in_twelve_equal_instalments():
    # 640 min at 36.00/h + 5 × 12.00 travel + 45.00 materials = 489.00.
    season = D(640) * 36 / 60 + 5 * 12 + 45

    assert instalments(season, 12) == (D("40.75"),) * 12
    assert instalments(D("100.00"), 3) == (D("33.33"), D("33.33"), D("33.34"))
