"""Buds of a vine and fruit of a tree: arithmetic that must hold at every size."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gardens.knowledge import load_knowledge
from gardens.pruning import (
    SideWood,
    balanced_buds,
    chill_need,
    crop_limit,
    crop_outlook,
    fruits_along,
    girth_mm_for,
    needs_for_season,
    spread_over_spurs,
    trunk_section_cm2,
)
from gardens.pruning.refine import bud_rule_for
from gardens.training.state import Limb
from tests.gardens.pruning.trees import tree, year_of

GRAPE = load_knowledge().species["grape"]
RULE = bud_rule_for(GRAPE, "Concord")


def buds_at(kg: float) -> int:
    """The load without dead buds, where there always is one."""
    buds = balanced_buds(kg, RULE).buds
    assert buds is not None
    return buds


@given(st.floats(0.05, 6), st.floats(0.05, 6))
def test_heavier_prunings_never_leave_fewer_buds(one, other):
    light, heavy = sorted((one, other))

    assert buds_at(light) <= buds_at(heavy) <= RULE.most


@given(st.floats(0.1, 4), st.floats(0, 100))
def test_dead_buds_never_lower_the_load(kg, dead):
    load = balanced_buds(kg, RULE, dead)

    assert (load.buds is None) == (dead > 50)
    assert load.buds is None or load.buds >= buds_at(kg)


@pytest.mark.parametrize(("kg", "dead"), [(0, 0), (-1, 0), (1, -1), (1, 101)])
def test_impossible_weights_and_shares_are_refused(kg, dead):
    with pytest.raises(ValueError, match="not"):
        balanced_buds(kg, RULE, dead)


@given(st.integers(1, 120), st.floats(20, 2000))
def test_spurs_keep_their_distance_and_one_to_three_buds(buds, rods_cm):
    plan = spread_over_spurs(buds, rods_cm, (8, 13))

    assert 1 <= plan.buds_each <= 3
    assert plan.spurs == 1 or plan.spacing_cm >= 7.9


@pytest.mark.parametrize(
    ("cultivar", "rule"),
    [("Concord", "30 + 10"), ("Seyval Blanc", "20 + 10"), ("Riesling", "20 + 20"), ("", "20 + 20")],
)
def test_cultivar_decides_the_bud_rule(cultivar, rule):
    assert bud_rule_for(GRAPE, cultivar).name == rule


def test_weighed_prunings_put_the_bud_load_on_the_order():
    rod = Limb(key="rod:1", kind="rod", status="set", length_mm=3000, wanted_mm=3000, angle_deg=0.0)
    vine = tree("grape", "vine_rod_and_spur", limbs=(rod,), cultivar="Concord")
    wood = SideWood(prunings_kg=((2025, 3 * 0.45359237),))
    need = next(
        need
        for need in needs_for_season(vine, year_of("grape", "vine_rod_and_spur"), wood=wood)
        if need.kind == "winter_prune"
    )

    assert need.instruction.startswith("Leave 50 buds on the vine (30 + 10")
    assert "spurs of 2 buds" in need.instruction
    assert "Illinois" in need.source


@given(st.floats(10, 900))
def test_girth_and_section_turn_into_each_other(girth):
    assert girth_mm_for(round(trunk_section_cm2(girth) * 1000), 1000) == pytest.approx(girth, rel=0.05)


@given(st.floats(0, 5000), st.floats(1, 50))
def test_fruits_along_an_arm_never_stand_closer(arm, spacing):
    assert fruits_along(arm, spacing) * spacing <= arm + 1e-6


def test_species_without_a_published_load_has_no_limit():
    # Not found in any source: crop load per cm² for pear, plum, peach, cherry.
    for species in ("pear_european", "plum_european", "peach", "cherry_sweet"):
        assert crop_limit(load_knowledge().species[species], 300) is None


def test_outlook_without_a_figure_is_unknown():
    assert crop_outlook(load_knowledge().species["fig"], 0.5) == "unknown"
    with pytest.raises(ValueError, match="0 … 1"):
        crop_outlook(load_knowledge().species["apple_spur"], 1.5)


def test_chill_of_an_unknown_sort_is_the_least_of_the_species():
    assert chill_need(load_knowledge().species["peach"], "No Such Sort") == 8
    assert chill_need(load_knowledge().species["quince"]) is None


def test_overbearing_tree_is_warned_of():
    from gardens.pruning import warnings_for

    wood = SideWood(fruit_counts=((2026, "whole", 400),))
    warnings = warnings_for(tree(girth_mm=200), year_of(), (), date(2026, 7, 1), wood)

    assert any("400 fruits" in warning.text and "159 to 223" in warning.text for warning in warnings)
