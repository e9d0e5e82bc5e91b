"""Ties that will bite and crops that are too heavy, told with dates."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from gardens.knowledge import load_knowledge
from gardens.pruning.alerts import tree_alerts
from gardens.pruning.side_wood import SideWood
from gardens.training import fold, girdling_alarm
from gardens.training.state import Record, TreeFacts

FACTS = TreeFacts(
    species="apple_spur", form="horizontal_tiers", planted_on=date(2022, 11, 20), wire_heights_mm=(450, 900, 1350),
    run_left_mm=1800, run_right_mm=1800, height_mm=1900, tiers=3,
)  # fmt: skip
APPLE = load_knowledge().species["apple_spur"]


def tied(on: date):
    tie = Record(on=date(2025, 11, 10), kind="done", what="tie_in", limb="tier:1", text="jute")
    return fold(FACTS, (tie,), on)


def test_ties_are_told_six_weeks_before_they_bite():
    state = tied(date(2026, 3, 1))
    bites = min(girdling_alarm(tie, state) for tie in state.ties if tie.material == "jute")

    assert not tree_alerts(state, SideWood(), APPLE, bites - timedelta(days=43))
    (alert,) = tree_alerts(state, SideWood(), APPLE, bites - timedelta(days=42))
    assert (alert.kind, alert.first) == ("girdling_ties", bites)
    assert "Take off or loosen each" in alert.text
    (late,) = tree_alerts(state, SideWood(), APPLE, bites + timedelta(days=10))
    assert "since" in late.text


@pytest.mark.parametrize(("fruits", "is_told"), [(60, False), (400, True)])
def test_more_fruit_than_the_trunk_carries_is_told(fruits, is_told):
    # Girth 16 cm is 20.4 cm2; the crop load of apples on M.9 is 5 to 7 fruits for each (NIAB).
    state = replace(fold(FACTS, (), date(2026, 7, 1)), girth_mm=160)
    wood = SideWood(fruit_counts=((2026, "whole", fruits),))

    alerts = tree_alerts(state, wood, APPLE, date(2026, 7, 1))

    assert bool(alerts) is is_told
    if is_told:
        assert alerts[0].amount == pytest.approx(fruits / 20.37, abs=0.1)
        assert alerts[0].last == date(2026, 8, 15)
        assert not tree_alerts(state, wood, APPLE, date(2026, 8, 16))
