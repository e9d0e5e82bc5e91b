"""Cordons, fans, uprights, lattices and vines against published instructions. Each check names its source."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.knowledge import form_schema as knowledge
from gardens.training import TrainingPractice, fold, next_steps, plan_limbs, steps_for_season
from gardens.training.arithmetic import seasons_of_a_stem, spur_levels, stem_length, wire_heights
from gardens.training.lattice import crossings
from gardens.training.repairs import may_ring_bark, notch_window
from gardens.training.side_wood import planting_cut, regrowth_cut, summer_cut
from gardens.training.vines import trunk_cut
from tests.gardens.training.trees import kinds, measured, of_form, only, room_for, seen, tree


def test_side_shoots_are_cut_by_length_and_origin():
    """Royal Horticultural Society, summer pruning: 28 cm from the arm → 3 leaves, 25 cm from a spur → 1, 15 cm → leave."""
    assert summer_cut(280, "limb") == 3
    assert summer_cut(250, "spur") == 1
    assert summer_cut(150, "limb") is None


def test_september_regrowth_is_never_left():
    """Royal Horticultural Society: to one leaf; Toronto Master Gardeners: to its base."""
    assert regrowth_cut() == 1
    assert regrowth_cut(TrainingPractice(regrowth="to_base")) == 0
    steps = next_steps(fold(tree(planted_on=date(2018, 1, 5)), [], date(2026, 9, 12)))
    assert only(steps, "summer_prune", season="autumn").instruction.startswith("Cut what has grown")


def test_planted_cordon_keeps_its_leader_and_short_side_shoots():
    """Royal Horticultural Society, profile 87: side shoots over 10 cm to 3 buds, 8 cm untouched, leader whole."""
    form = knowledge.form("oblique_cordon")
    assert planting_cut(120, form) == 3
    assert planting_cut(80, form) is None
    steps = next_steps(fold(of_form("oblique_cordon"), [], date(2025, 12, 10)))
    assert "leave shorter ones and the leader whole" in only(steps, "winter_prune").instruction
    assert "head_back" not in kinds(steps, "dormant")


@pytest.mark.parametrize(("angle", "metres"), [(45, 2.55), (65, 1.99)])
def test_slanted_stem_is_longer_than_its_height(angle: float, metres: float):
    """Calculated: 1.8 m high."""
    assert stem_length(1800, angle) / 1000 == pytest.approx(metres, abs=0.005)


def test_planned_cordon_stem_reaches_the_top_at_its_slant():
    """Calculated: the same stem on the plan of a tree."""
    (stem,) = plan_limbs(of_form("oblique_cordon", height_mm=1800, run_right_mm=2500))
    assert stem.wanted_mm == pytest.approx(stem_length(1800, 45), abs=1)


def test_three_cordon_wires_hang_sixty_apart():
    """Royal Horticultural Society, profile 87."""
    form = knowledge.form("oblique_cordon")
    heights = wire_heights(
        int(form.number("first_wire_mm")), int(form.number("wire_spacing_mm")), int(form.number("usual_wires"))
    )
    assert heights == (300, 900, 1500)


def test_peach_fan_is_cut_at_sixty_and_its_arms_kept_low():
    """Which? Gardening: first spring cut at 60 cm to two opposite shoots, canes at 20°; second spring 45–60 cm."""
    facts = of_form("fan")
    first = next_steps(fold(facts, [], date(2026, 1, 15)))
    cut = only(first, "head_back", "leader")
    assert (cut.at_mm, cut.season) == (600, "spring")
    assert "one on the left and one on the right" in cut.instruction
    tied = [step.to_angle_deg for step in first if step.kind == "tie_in" and step.limb == "tier:1"]
    assert 20 in tied
    day = date(2026, 12, 1)
    long_arms = [
        measured(day, what, value, f"arm:1:{side}")
        for side in ("left", "right")
        for what, value in (("limb_length", 800), ("season_growth", 800))
    ]
    second = next_steps(fold(facts, long_arms, date(2027, 1, 15)))
    for side in ("left", "right"):
        assert 450 <= (only(second, "shorten_arms", f"arm:1:{side}").at_mm or 0) <= 600


def test_fan_sold_with_a_centre_leader_loses_it():
    """Garden News, 14 March 2017: keep the strongest low pair (about 30 cm up), leader out, 45°, 40 cm, downward bud."""
    facts = of_form("fan", species="plum_european", start="ready_trained", tiers_at_start=1)
    records = [seen(date(2025, 12, 10), "note", text="Bought with a centre leader and five pairs")]
    cut = only(next_steps(fold(facts, records, date(2026, 1, 15))), "head_back", "leader")
    assert cut.season == "spring"
    assert 240 <= (cut.at_mm or 0) <= 400
    for words in ("lowest", "45°", "40 cm", "looks down"):
        assert words.replace("lowest", "low") in cut.instruction


def test_fig_fan_is_cut_at_forty_then_by_half_then_by_a_third():
    """Garden Answers, August 2017."""
    facts = of_form("fan", species="fig")
    assert only(next_steps(fold(facts, [], date(2026, 1, 15))), "head_back", "leader").at_mm == 400
    grown = [measured(date(2026, 12, 1), what, 600, "arm:1:left") for what in ("limb_length", "season_growth")]
    half = only(next_steps(fold(facts, grown, date(2027, 1, 15))), "shorten_arms", "arm:1:left")
    assert (half.at_mm, half.season) == (300, "spring")
    later = [
        *grown,
        measured(date(2027, 12, 1), "limb_length", 900, "arm:1:left"),
        measured(date(2027, 12, 1), "season_growth", 600, "arm:1:left"),
    ]
    third = only(next_steps(fold(facts, later, date(2028, 1, 15))), "shorten_arms", "arm:1:left")
    assert third.at_mm == 700


@pytest.mark.parametrize("species", ["plum_european", "peach", "cherry_sweet", "apricot", "fig"])
def test_stone_fruit_and_figs_are_never_cut_in_winter(species: str):
    """Royal Horticultural Society, profile 625: plum fan on 10 January: no cut; spring or dry summer."""
    cutting = {
        "head_back",
        "shorten_arms",
        "winter_prune",
        "clear_wall_side",
        "remove_low_shoots",
        "renew_wood",
        "thin_spurs",
    }
    for start in ("whip", "ready_trained", "neglected"):
        facts = of_form("fan", species=species, start=start)
        for season in range(2026, 2036):
            assert not kinds(steps_for_season(fold(facts, [], date(season, 1, 10)), season), "dormant") & cutting


def test_double_u_forks_twice_and_stands_on_four_axes():
    """French guide to palmettes and double U: forks at 30 and 50 cm; calculated: axes at ±15 and ±45 cm, 120 cm apart."""
    limbs = {limb.key: limb for limb in plan_limbs(of_form("double_u"))}
    assert limbs["arm:1:left"].origin_y_mm == 300
    assert limbs["axis:1"].origin_y_mm == 500
    assert [limbs[f"axis:{number}"].course_mm[-1][0] for number in (1, 2, 3, 4)] == [-450, -150, 150, 450]
    assert room_for("double_u", 3) == (1200, 1200)


@pytest.mark.parametrize(("angle", "heights"), [(45, [575, 950, 1325, 1700]), (60, [850, 1500, 2149])])
def test_lattice_arms_cross_at_even_heights(angle: float, heights: list[float]):
    """Le parfait jardinier (trunk 20 cm, 75 cm apart); calculated: 57.5, 95, 132.5, 170 cm; at 60° 85, 150, 215 cm."""
    found = crossings(200, 750, angle, 2200)
    assert list(found)[: len(heights)] == pytest.approx(heights, abs=1)


def test_upright_vine_fills_its_wall_in_three_to_ten_seasons():
    """Le parfait jardinier: 2.5 m, lowest spurs 25 cm, 25 cm apart → 10 levels; at 50–80 cm a year 3–5 seasons."""
    assert spur_levels(2500, 250, 250) == 10
    assert seasons_of_a_stem(2500, 0, 800) in (3, 4)
    assert seasons_of_a_stem(2500, 0, 500) == 5
    span = knowledge.form("vine_rod_and_spur").numbers["seasons_to_form"]
    assert (span.low, span.high) == (3, 10)


def test_vine_cane_is_cut_where_it_is_thick_enough():
    """Wine growers' page: 6 mm at the wire, 8 mm at 70 cm → cut at 70; nowhere 8 mm → back to two buds."""
    assert trunk_cut(1100, [(300, 10), (700, 8), (1100, 6)]) == 700
    assert trunk_cut(1100, [(300, 10), (700, 9), (1100, 8)]) == 1100
    assert trunk_cut(1100, [(300, 7), (700, 6)]) is None


@pytest.mark.parametrize(("reached", "buds"), [(1900, "22 buds"), (1300, "11 buds")], ids=["strong", "weak"])
def test_four_arm_vine_carries_buds_by_its_strength(reached: float, buds: str):
    """Hedrick, Manual of American Grape-Growing: trunk at the top wire in year 3 → 22 buds, else half."""
    facts = of_form("vine_tiers")
    records = [measured(date(2028, 12, 1), "leader_height", reached)]
    for season in (2030, 2031):
        steps = steps_for_season(fold(facts, records, date(2029, 1, 10)), season)
        if any(step.kind == "renew_wood" for step in steps):
            assert buds in only(steps, "renew_wood").instruction
            return
    pytest.fail("no winter cut was asked for")


def test_single_cane_is_renewed_with_six_buds_and_a_spur():
    """Small-vineyard page, 2013: winter 3, one cane of 6 buds and one 2-bud spur from about 15 cm below the wire."""
    facts = of_form("vine_cane_replacement", run_left_mm=0, wire_heights_mm=(900, 1300, 1700))
    step = only(next_steps(fold(facts, [], date(2029, 1, 10))), "renew_wood")
    for words in ("one cane of 6 buds", "second to 2 buds", "15 cm below the wire"):
        assert words in step.instruction


def test_first_crop_of_a_vine_is_kept_small():
    """Wine growers' page: at most about ten bunches a vine in its first crop year."""
    facts = of_form("vine_cane_replacement", wire_heights_mm=(900, 1300, 1700))
    asked = {
        season: [
            step.instruction
            for step in steps_for_season(fold(facts, [], date(2025, 12, 10)), season)
            if step.kind == "thin_fruit"
        ]
        for season in range(2026, 2033)
    }
    years = [season for season, texts in asked.items() if texts]
    assert len(years) == 1
    assert "at most 10 bunches" in asked[years[0]][0]


def test_upright_cordon_is_held_below_two_metres_forty():
    """Royal Horticultural Society, Apples: growing and training as cordons: it can pass 3 m, held at 2.4 m."""
    (stem,) = plan_limbs(of_form("upright_cordon", height_mm=3500))
    assert stem.wanted_mm == 2400


def test_notch_falls_two_to_four_weeks_before_bloom():
    """Greene and Autio 1994: full bloom 1 May → 3 to 17 April; a strip 2 mm wide, a third of the way round."""
    assert notch_window(date(2026, 5, 1)) == (date(2026, 4, 3), date(2026, 4, 17))
    steps = next_steps(fold(tree(), [seen(date(2026, 6, 20), "lost", "arm:1:left")], date(2026, 12, 1)))
    notch = [step.instruction for step in steps if step.limb == "arm:1:left" and "strip of bark" in step.instruction]
    assert len(notch) == 1
    assert "2 mm wide, a third of the way round" in notch[0]


def test_bark_ring_is_refused_for_stone_fruit():
    """Gardening tips page: never ring stone fruit."""
    allowed, why = may_ring_bark("peach")
    assert not allowed
    assert why
    assert may_ring_bark("apple_spur") == (True, "")
