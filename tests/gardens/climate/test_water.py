"""Water for young trees: what is used, what rain gives back, when to water and how much."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gardens.climate import DailyWeather, ThirstyTree, reference_evapotranspiration, water_need

TREE = ThirstyTree(planted_on=date(2025, 11, 20), height_mm=1800, width_mm=3000)
FIRST = date(2026, 6, 1)


def dry_days(count, first=FIRST, rain=0.0):
    return [
        DailyWeather(on=first + timedelta(days=step), tmin_c=12.0, tmax_c=24.0, rain_mm=rain) for step in range(count)
    ]


def need(tree, days, until, latitude=51.5):
    return water_need(tree, latitude, days, FIRST, until)


@given(st.floats(-66, 66), st.integers(1, 365), st.floats(-20, 40), st.floats(0, 25))
def test_evapotranspiration_is_never_negative(latitude, day, low, width):
    value = reference_evapotranspiration(latitude, np.array([float(day)]), np.array([low]), np.array([low + width]))[0]
    assert 0 <= value < 20


def test_dry_weeks_make_watering_due():
    answers = [need(TREE, dry_days(60), FIRST + timedelta(days=step)) for step in range(20)]
    assert not answers[0].is_due
    assert answers[-1].is_due
    depletions = [answer.depletion_mm for answer in answers]
    assert depletions == sorted(depletions)
    due = answers[-1]
    assert due.depletion_mm >= due.bearable_mm == 30.0
    # refill: what is gone × canopy (1.8 × 3.0 m × half) ÷ 0.9
    assert due.litres == pytest.approx(due.depletion_mm * 2.7 / 0.9, abs=0.6)


def test_rain_puts_the_day_off():
    wet = [replace(day, rain_mm=15.0) if day.on == date(2026, 6, 8) else day for day in dry_days(20)]
    until = FIRST + timedelta(days=12)
    assert need(TREE, wet, until).depletion_mm == pytest.approx(
        need(TREE, dry_days(20), until).depletion_mm - 12, abs=0.2
    )
    drizzle = dry_days(20, rain=2.0)
    assert need(TREE, drizzle, until).depletion_mm == need(TREE, dry_days(20), until).depletion_mm


def test_wall_keeps_half_the_rain_off():
    wet = dry_days(10, rain=4.0)
    until = FIRST + timedelta(days=9)
    open_ground, at_wall = need(TREE, wet, until), need(replace(TREE, gap_to_wall_mm=150), wet, until)
    assert at_wall.depletion_mm > open_ground.depletion_mm
    assert need(replace(TREE, gap_to_wall_mm=800), wet, until).depletion_mm == open_ground.depletion_mm


def test_older_trees_reach_deeper_and_use_less():
    until = FIRST + timedelta(days=14)
    old = replace(TREE, planted_on=date(2018, 2, 1))
    assert need(old, dry_days(30), until).bearable_mm == 75.0
    assert need(old, dry_days(30), until).depletion_mm < need(TREE, dry_days(30), until).depletion_mm
    assert not need(old, dry_days(30), until).is_due
    sand = replace(TREE, soil="sand")
    assert need(sand, dry_days(30), until).due_on < need(TREE, dry_days(30), until).due_on


@pytest.mark.parametrize(
    ("planted", "on", "southern", "summer"),
    [
        (date(2025, 11, 20), date(2026, 7, 1), False, 1),
        (date(2026, 3, 1), date(2026, 7, 1), False, 1),
        (date(2025, 3, 1), date(2026, 7, 1), False, 2),
        (date(2025, 6, 1), date(2026, 1, 10), True, 1),
        (date(2025, 6, 1), date(2027, 1, 10), True, 2),
        (date(2026, 7, 1), date(2026, 6, 1), False, 1),
    ],
)
def test_summers_are_counted_from_planting(planted, on, southern, summer):
    assert replace(TREE, planted_on=planted).summers(on, is_southern=southern) == summer


def test_missing_days_are_counted_and_carried_on():
    days = [day for day in dry_days(20) if day.on.day not in (5, 6, 7)]
    until = FIRST + timedelta(days=12)
    answer = need(TREE, days, until)
    assert (answer.missing, answer.is_uncertain) == (3, False)
    assert answer.depletion_mm == pytest.approx(need(TREE, dry_days(20), until).depletion_mm, abs=0.5)
    assert need(TREE, dry_days(3), until).is_uncertain


def test_southern_summer_is_thirsty_in_january():
    days = dry_days(20, first=date(2026, 1, 1))
    answer = water_need(replace(TREE, planted_on=date(2025, 7, 1)), -40.0, days, date(2026, 1, 1), date(2026, 1, 20))
    assert answer.is_due


def test_backward_span_is_a_mistake():
    with pytest.raises(ValueError, match="lies before"):
        need(TREE, [], FIRST - timedelta(days=1))
