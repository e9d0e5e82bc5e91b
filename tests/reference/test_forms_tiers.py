"""Tiers and step-overs against published instructions. Each check names its source."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.training import TrainingPractice, fold, next_steps, plan_limbs, steps_for_season, suitability
from gardens.training.arithmetic import season_filled, seasons_tiers_are_set, wall_covered
from tests.gardens.training.trees import done, length, limb_of, measured, only, room_for, seen, tree

YGI = "book-like page, Training an espalier tree"
SFT = "American nursery guide, Pruning espaliers"


def test_whip_is_headed_five_centimetres_above_the_first_wire():
    """Training an espalier tree: cut at the wire + 5 cm, one bud for the leader, two opposite ones below."""
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)))
    cut = only(steps, "head_back", "leader")
    assert cut.at_mm == 450
    assert cut.season == "dormant"
    assert "three good buds" in cut.instruction
    assert YGI in cut.source
    kept = only(steps, "select_shoots", "tier:1")
    assert "one straight up, one to the left and one to the right, and one spare" in kept.instruction


def test_first_cut_may_be_fixed_at_thirty_centimetres():
    """Second-hand copy of a national society's steps: head at 30 cm, top three shoots, sides on canes at 45°."""
    practice = TrainingPractice(first_cut_mm=300)
    steps = next_steps(fold(tree(), [], date(2026, 1, 15), practice=practice), practice=practice)
    assert only(steps, "head_back", "leader").at_mm == 300
    assert only(steps, "tie_in", "tier:1").to_angle_deg == 45


@pytest.mark.parametrize(("margin", "height"), [(0, 460), (-100, 360)])
def test_wire_practice_heads_at_or_under_the_wire(margin: int, height: int):
    """R. C. Funt, Ohio State University Extension: head at the wire (46 cm); the variety Delicious 10 cm under it."""
    practice = TrainingPractice(heading_margin_mm=margin)
    facts = tree(wire_heights_mm=(460, 920), rootstock="M9", run_left_mm=900, run_right_mm=900)
    steps = next_steps(fold(facts, [], date(2026, 1, 15), practice=practice), practice=practice)
    assert only(steps, "head_back", "leader").at_mm == height


def test_branches_already_at_the_wire_need_no_heading_there():
    """R. C. Funt, Ohio State University Extension: two branches at the wire are used as they are."""
    facts = tree(wire_heights_mm=(460, 920), rootstock="M9", start="feathered")
    steps = next_steps(fold(facts, [], date(2026, 1, 15)))
    assert only(steps, "select_shoots", "tier:1").season == "dormant"
    headings = [step.at_mm for step in steps if step.kind == "head_back"]
    assert all(height is None or height > 460 + 50 for height in headings)


def test_useless_feathers_make_the_tree_a_whip():
    """Gardeners' forum: feathers in the wrong place, treat as a whip."""
    records = [seen(date(2025, 12, 12), "lost", "arm:1:left"), seen(date(2025, 12, 12), "lost", "arm:1:right")]
    steps = next_steps(fold(tree(start="feathered"), records, date(2026, 1, 15)))
    assert only(steps, "head_back", "leader").at_mm == 450


def test_leader_past_the_second_wire_is_headed_there():
    """Training an espalier tree: tier 2 at 80 cm, leader 95 cm in winter → head at 85 cm."""
    steps = next_steps(fold(tree(), [measured(date(2026, 12, 20), "leader_height", 950)], date(2027, 1, 5)))
    cut = only(steps, "head_back", "leader")
    assert cut.at_mm == 850
    assert "5 cm above the second wire" in cut.instruction


def test_short_leader_loses_a_third_and_the_tier_waits():
    """Pruning espaliers: leader 65 cm, of it 24 cm new, wire at 80 cm → 8 cm off, no second tier this season."""
    day = date(2026, 12, 20)
    records = [measured(day, "season_growth", 240), measured(day, "leader_height", 650)]
    state = fold(tree(), records, date(2027, 1, 5))
    steps = next_steps(state)
    cut = only(steps, "head_back", "leader")
    assert cut.at_mm == 570
    assert SFT in cut.source
    assert "select_shoots" not in {step.kind for step in steps}
    assert fold(tree(), records, date(2027, 11, 15)).tiers_set == 1
    assert fold(tree(), [], date(2027, 11, 15)).tiers_set == 2


def test_ready_trained_tree_short_of_its_third_wire():
    """Pruning espaliers: two tiers, wire 3 at 130 cm, leader 120 cm with 30 cm new → 110 cm; arms lose a third."""
    day = date(2025, 12, 12)
    facts = tree(start="ready_trained", tiers_at_start=2, wire_heights_mm=(500, 900, 1300), tiers=3)
    records = [
        measured(day, "leader_height", 1200),
        measured(day, "season_growth", 300),
        measured(day, "limb_length", 600, "arm:1:left"),
        measured(day, "season_growth", 300, "arm:1:left"),
    ]
    practice = TrainingPractice(arm_winter_cut="third")
    steps = next_steps(fold(facts, records, date(2026, 1, 10), practice=practice), practice=practice)
    assert only(steps, "head_back", "leader").at_mm == 1100
    assert only(steps, "shorten_arms", "arm:1:left").at_mm == 500
    assert "to 8 cm to 10 cm" in only(steps, "winter_prune").instruction


def test_shorter_arm_is_raised_and_longer_one_lowered():
    """Training an espalier tree; hobby page on fruit espaliers: July, left 60 cm, right 35 cm, both at 45°."""
    day = date(2026, 7, 10)
    records = [measured(day, "limb_length", 600, "arm:1:left"), measured(day, "limb_length", 350, "arm:1:right")]
    steps = next_steps(fold(tree(), records, date(2026, 7, 11)))
    up = only(steps, "tie_in", "arm:1:right")
    down = only(steps, "lower_arms", "arm:1:left")
    assert up.to_angle_deg is not None
    assert down.to_angle_deg is not None
    assert up.to_angle_deg > 45 > down.to_angle_deg
    assert "25 cm behind" in up.instruction


def test_stiff_arms_stay_slanted_over_their_first_winter():
    """Training an espalier tree: arms that resist stay slanted, come down in summer, lie flat the next winter."""
    lowered = [done(date(2026, 10, 20), "lower_arms", f"arm:1:{side}", value=25) for side in ("left", "right")]
    autumn = fold(tree(), lowered, date(2026, 10, 25))
    assert limb_of(autumn, "arm:1:left").status == "tied"
    assert "lower_arms" not in {step.kind for step in next_steps(autumn) if step.limb.startswith("arm:1")}
    steps = steps_for_season(autumn, 2027)
    in_summer = only(steps, "lower_arms", "arm:1:left", "summer")
    assert in_summer.to_angle_deg is not None
    assert 0 < in_summer.to_angle_deg < 25
    assert only(steps, "lower_arms", "arm:1:left", "autumn").to_angle_deg == 0


@pytest.mark.parametrize(
    ("rule", "kept"),
    [("third", 400), ("by_angle", 582), ("tip", 582), ("none", None)],
)
def test_sixty_centimetres_of_new_arm_are_kept_by_the_rule(rule: str, kept: int | None):
    """Hobby page on espaliers and American nursery: keep 40. Le parfait jardinier: a flat arm loses only its tip."""
    day = date(2026, 12, 1)
    records = [
        measured(date(2026, 4, 10), "limb_length", 0, "arm:1:left"),
        measured(day, "limb_length", 600, "arm:1:left"),
        measured(day, "season_growth", 600, "arm:1:left"),
    ]
    practice = TrainingPractice(arm_winter_cut=rule)  # type: ignore[arg-type]
    state = fold(tree(), records, date(2027, 5, 1), practice=practice)
    growing = fold(tree(), records, date(2027, 4, 14), practice=practice)
    assert limb_of(growing, "arm:1:left").length_mm == (kept or 600)
    assert length(state, "arm:1:left") >= (kept or 600)


def test_tiers_are_set_one_a_season_from_planting():
    """English nursery guide to espaliers: four tiers, no short leader → seasons 2026, 27, 28, 29."""
    assert seasons_tiers_are_set(2026, 4) == (2026, 2027, 2028, 2029)
    for years, tiers in enumerate((1, 2, 3, 4)):
        long_leader = [measured(date(2026 + year, 12, 1), "leader_height", 1900) for year in range(years)]
        state = fold(tree(), long_leader, date(2026 + years, 11, 1))
        assert state.tiers_set == tiers


def test_six_years_by_tiers_and_four_by_the_modified_fan():
    """The Fruit Garden, plate text: a trellis of five tiers, counted from budding (the maiden is year 1)."""
    assert seasons_tiers_are_set(2, 5)[-1] == 6
    assert seasons_tiers_are_set(2, 5, a_season=2)[-1] == 4


def test_wall_is_half_covered_when_the_leader_tops_out():
    """The Gardener's Assistant: twelve tiers, one a year; half the wall, three quarters with trees twice as close."""
    assert wall_covered(12, 12 * 300, 300) == pytest.approx(0.5)
    assert wall_covered(12, 6 * 300, 300) == pytest.approx(0.75)
    assert wall_covered(12, 12 * 300, 300, whole_seasons=True) == pytest.approx(0.54, abs=0.005)
    assert wall_covered(12, 6 * 300, 300, whole_seasons=True) == pytest.approx(0.79, abs=0.005)


def test_set_and_full_differ_by_years():
    """Calculated: four tiers, 210 cm wanted, 50 cm first, then 30 or 50 cm a year."""
    assert [season_filled(tier, 2100, 500, 300) for tier in (1, 2, 3, 4)] == [7, 8, 9, 10]
    assert [season_filled(tier, 2100, 500, 500) for tier in (1, 2, 3, 4)] == [5, 6, 7, 8]


def test_blossom_comes_off_in_the_first_three_springs():
    """Royal Horticultural Society, advice profile 319: no blossom in seasons 1 to 3."""
    asked = {}
    for season in (2026, 2027, 2028, 2029):
        steps = next_steps(fold(tree(), [], date(season, 1, 15)))
        asked[season] = any(step.kind == "thin_fruit" and "blossom" in step.instruction for step in steps)
    assert asked == {2026: True, 2027: True, 2028: True, 2029: False}


def test_step_over_is_cut_just_under_its_wire():
    """Garden Answers, October 2018: wire 45 cm, M27, just under the wire, two arms and a spare, next tree 1.2–1.5 m."""
    facts = tree(
        form="step_over", wire_heights_mm=(450,), rootstock="M27", run_left_mm=650, run_right_mm=650, height_mm=600
    )
    steps = next_steps(fold(facts, [], date(2026, 1, 15)))
    cut = only(steps, "head_back", "leader")
    assert 400 <= (cut.at_mm or 0) < 450
    assert "one spare" in only(steps, "select_shoots", "tier:1").instruction
    assert room_for("step_over", 1) == (1200, 1500)


@pytest.mark.parametrize(("arm", "kept"), [(550, 550), (900, 400)])
def test_one_armed_step_over_is_shortened_only_when_long(arm: int, kept: int):
    """Le parfait jardinier: leave an arm of up to 60 cm past the bend, cut a longer one to 40 cm."""
    facts = tree(form="step_over", wire_heights_mm=(450,), run_left_mm=0, run_right_mm=1700, height_mm=600)
    records = [
        done(date(2026, 7, 1), "lower_arms", "arm:1:right"),
        measured(date(2026, 12, 1), "limb_length", arm, "arm:1:right"),
        measured(date(2026, 12, 1), "season_growth", 300, "arm:1:right"),
    ]
    state = fold(facts, records, date(2027, 1, 10))
    asked = [step.at_mm for step in next_steps(state) if step.kind == "shorten_arms"]
    assert asked == ([] if kept == arm else [kept])


@pytest.mark.parametrize(("stock", "low", "high"), [(3, 3000, 3600), (4, 3600, 4300)], ids=["M26", "MM106"])
def test_tiers_stand_as_far_apart_as_their_stock_asks(stock: int, low: int, high: int):
    """English nursery guide, 7 February 2011: M26 3.0 m (another nursery 3.6), MM106 3.6–4.3 m."""
    assert room_for("horizontal_tiers", stock) == (low, high)


def test_tip_bearing_apple_is_refused_as_tiers():
    """Royal Horticultural Society, advice profile 319."""
    assert suitability("apple_tip", "horizontal_tiers").is_refused


def test_sweet_cherry_as_tiers_is_offered_a_fan():
    """Royal Horticultural Society, profile 625."""
    fit = suitability("cherry_sweet", "horizontal_tiers")
    assert fit.is_refused
    assert "fan" in fit.better


def test_three_wires_are_usual_and_two_or_five_work():
    """Common practice."""
    for wires in (2, 3, 5):
        facts = tree(wire_heights_mm=tuple(400 + 300 * wire for wire in range(wires)))
        tiers = {limb.tier for limb in plan_limbs(facts) if limb.kind == "arm"}
        assert tiers == set(range(1, wires + 1))


def test_tree_a_year_ahead_has_its_pair_and_its_next_cut():
    """Common practice: a year on, the first pair is chosen and the leader cut at the second wire."""
    state = fold(tree(), [measured(date(2026, 12, 1), "leader_height", 1000)], date(2027, 5, 1))
    assert {limb_of(state, f"arm:1:{side}").status for side in ("left", "right")} == {"set"}
    assert limb_of(state, "trunk").length_mm == 850
