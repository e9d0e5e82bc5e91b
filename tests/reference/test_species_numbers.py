"""Crop load, thinning, chill, frost and buds against published numbers. Sources stand beside each table."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.climate import critical_temperatures, is_full_crop_possible
from gardens.knowledge import load_knowledge
from gardens.pruning import (
    balanced_buds,
    chill_need,
    chill_warning,
    chosen_spacing_cm,
    crop_limit,
    crop_outlook,
    extra_for_dead_buds,
    fruits_along,
    girth_mm_for,
    trunk_section_cm2,
)
from gardens.pruning.refine import bud_rule_for
from tests.reference.asking import ask, verdict

SPECIES = load_knowledge().species


def test_girth_of_twenty_centimetres_carries_159_to_223_apples():
    # NIAB, thinning to specific numbers: target 5 to 7 fruits per cm² of trunk section (M.9).
    limit = crop_limit(SPECIES["apple_spur"], 200)

    assert limit is not None
    assert trunk_section_cm2(200) == pytest.approx(31.83, abs=0.01)
    assert (limit.low, limit.high) == (159, 223)


def test_seven_apples_per_square_centimetre_are_180_on_eighteen_centimetres():
    # NIAB: 7 fruits per cm² were 180 fruits a tree, so the section was 25.7 cm² and the girth 18.0 cm.
    girth = girth_mm_for(180, 7)

    assert girth / 10 == pytest.approx(18.0, abs=0.05)
    assert trunk_section_cm2(girth) == pytest.approx(25.7, abs=0.05)


def test_two_metres_of_arm_hold_sixteen_dessert_apples():
    # RHS text on thinning: dessert apples 10 to 15 cm apart; 200 / 12.5 = 16.
    low, high = chosen_spacing_cm(SPECIES["apple_spur"]) or (0, 0)

    assert fruits_along(200, (low + high) / 2) == 16


@pytest.mark.parametrize(
    ("species", "spacing"),
    [
        ("apple_spur", (10, 15)),
        ("pear_european", (10, 15)),
        ("nectarine", (15, 15)),
        ("plum_european", (5, 8)),
        ("apricot", (5, 8)),
    ],
)
def test_chosen_spacing_is_that_of_the_thinning_table(species, spacing):
    # RHS text on thinning, reposted 18 June 2013.
    assert chosen_spacing_cm(SPECIES[species]) == spacing


@pytest.mark.parametrize(
    ("species", "cultivar", "site", "is_warned"),
    [
        ("cherry_sweet", "Rainier", 42, True),
        ("cherry_sweet", "Lapins", 42, False),
        ("nectarine", "Fantasia", 48, False),
    ],
)
def test_site_short_of_chill_is_warned_of(species, cultivar, site, is_warned):
    # K. Pope, University of California, crop chill portions requirements: Rainier 45, Lapins 35, Fantasia 42.
    warning = chill_warning(SPECIES[species], cultivar, site)

    assert (warning is not None) == is_warned
    assert warning is None or "45 chill portions" in warning.text


@pytest.mark.parametrize(
    ("cultivar", "portions"),
    [("Cristobalina", 30), ("Lapins", 35), ("Brooks", 37), ("Burlat", 48), ("Marvin", 58), ("Sam", 70)],
)
def test_cherry_sorts_want_the_printed_chill(cultivar, portions):
    # Same table and treephenology.ucdavis.edu.
    assert chill_need(SPECIES["cherry_sweet"], cultivar) == portions


@pytest.mark.parametrize(
    ("species", "alive", "outlook"),
    [
        ("cherry_sweet", 0.40, "short"),
        ("cherry_sweet", 0.55, "full"),
        ("apple_spur", 0.15, "full"),
        ("peach", 0.05, "short"),
    ],
)
def test_crop_after_frost_follows_the_share_of_living_buds(species, alive, outlook):
    # Utah State University IPM-012-11: cherry needs more than half, apple, pear and peach 10 to 15 %.
    assert crop_outlook(SPECIES[species], alive) == outlook
    assert is_full_crop_possible(species, alive) is (outlook == "full")


@pytest.mark.parametrize(("pounds", "buds"), [(1, 30), (3, 50)])
def test_balanced_pruning_leaves_thirty_and_ten_for_each_further_pound(pounds, buds):
    # University of Illinois Extension, pruning and training grape vines: 1 lb → 30 buds, 3 lb → 50.
    rule = bud_rule_for(SPECIES["grape"], "Concord")

    assert balanced_buds(pounds * 0.45359237, rule).buds == buds


@pytest.mark.parametrize(("dead", "extra"), [(0, 0), (15, 0), (20, 0.35), (35, 0.35), (40, 0.5), (60, None)])
def test_dead_buds_are_made_good_as_purdue_prints(dead, extra):
    # Purdue, double pruning grapevines (25 to 35 % lies in two of its ranges; the lower is taken).
    assert extra_for_dead_buds(dead) == extra


@pytest.mark.parametrize(
    ("species", "first_year"),
    # UConn, fruit bearing age: years from planting.
    [("apple_spur", 2), ("quince", 3), ("apricot", 2), ("cherry_sweet", 5), ("cherry_sour", 3), ("peach", 3)],
)
def test_first_crop_comes_in_the_printed_year(species, first_year):
    bearing = SPECIES[species].facts.bearing

    assert bearing is not None
    assert bearing.first_crop_year[0] == first_year


@pytest.mark.parametrize(
    ("species", "hours"),
    # Nursery chill table, daleysfruit.com.au.
    [
        ("apple_spur", (300, 1200)),
        ("pear_european", (150, 1500)),
        ("peach", (150, 1200)),
        ("apricot", (300, 1000)),
        ("plum_european", (275, 1000)),
        ("fig", (100, 500)),
        ("kiwifruit", (400, 800)),
        ("persimmon", (100, 700)),
        ("olive", (400, 700)),
    ],
)
def test_chill_hours_are_those_of_the_nursery_table(species, hours):
    assert SPECIES[species].facts.chill[0].hours == hours


def test_apple_in_full_bloom_at_minus_two_and_a_half_is_between_the_tenths():
    # Penn State Extension, orchard frost critical temperatures: full bloom −2.2 °C (10 %) and −3.9 °C (90 %).
    on = date(2026, 5, 1)
    advice = ask("apple", "horizontal_tiers", on, observed={"full_bloom": on})
    found = critical_temperatures("apple_spur", advice.stages, on)

    assert found is not None
    assert found[0].most_c < -2.5 < found[0].tenth_c
    assert verdict(advice, "protect_frost").is_allowed
