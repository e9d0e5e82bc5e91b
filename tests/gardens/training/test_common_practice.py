"""What the trade does as a matter of course, each fact held once. Common practice: no publication stands behind them."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.knowledge import form_schema as knowledge
from gardens.training import TrainingPractice, doubts, fold, next_steps, plan_limbs, steps_for_season
from gardens.training.growth import prior_for
from gardens.training.ties import girdling_alarm, tie_kind
from tests.gardens.training.trees import done, kinds, limb_of, measured, only, tree

PLANTING_DAY = date(2025, 12, 10)
SUMMERS = (date(2026, 6, 20), date(2026, 10, 31))


def test_trained_tree_takes_little_depth():
    """0.9 to 1.2 m of depth at most."""
    depths = {record.id: record.number("depth_mm") for record in knowledge.forms().values()}
    assert all(depth <= 1200 for depth in depths.values())
    assert max(depths.values()) >= 900


@pytest.mark.parametrize("wires", [2, 3, 5])
def test_three_wires_are_usual_two_or_five_work(wires: int):
    facts = tree(wire_heights_mm=tuple(400 + 300 * wire for wire in range(wires)))
    assert {limb.tier for limb in plan_limbs(facts) if limb.kind == "arm"} == set(range(1, wires + 1))
    usual = knowledge.form("horizontal_tiers").numbers["usual_tiers"]
    assert (usual.low or usual.value) <= 3 <= (usual.high or usual.value)
    assert not [doubt for doubt in doubts(facts) if doubt.about == "wire"]


def test_leader_is_cut_dormant_and_the_next_pair_breaks_there_in_spring():
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)))
    cut = only(steps, "head_back", "leader")
    assert cut.season == "dormant"
    assert "the first wire" in cut.instruction
    assert only(steps, "select_shoots", "tier:1").season == "spring"
    headed = [done(date(2026, 2, 1), "head_back", "leader", value=450)]
    before, after = (fold(tree(), headed, day) for day in (date(2026, 2, 2), date(2026, 5, 20)))
    for side in ("left", "right"):
        assert limb_of(before, f"arm:1:{side}").length_mm == 0
        arm = limb_of(after, f"arm:1:{side}")
        assert arm.length_mm > 0
        assert arm.origin_y_mm == 400  # at the wire


def test_new_shoots_grow_a_whole_season_before_they_come_down():
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)))
    assert only(steps, "lower_arms", "tier:1").season == "autumn"
    for month in (6, 7, 8, 9):
        assert limb_of(fold(tree(), [], date(2026, month, 28)), "arm:1:left").status in ("wanted", "chosen", "tied")
    assert limb_of(fold(tree(), [], date(2026, 11, 1)), "arm:1:left").status == "set"


def test_one_shoot_takes_over_and_holds_the_lower_ones_back():
    """The leader is always one shoot, and it outgrows the arms below it."""
    prior = prior_for(tree())
    assert prior.leader > prior.mean(45, 0) > prior.mean(0, 1)
    assert "one straight up" in only(next_steps(fold(tree(), [], date(2026, 1, 15))), "select_shoots").instruction
    grown = fold(tree(), [], date(2027, 11, 1))
    leaders = [limb for limb in grown.limbs if limb.kind == "leader"]
    assert len(leaders) == 1
    assert leaders[0].grown_mm > max(limb.grown_mm for limb in grown.limbs if limb.kind == "arm")


def test_low_shoots_may_stay_the_first_year_to_feed_the_roots():
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)))
    kept = only(steps, "pinch", "trunk")
    assert "feed the roots" in kept.why
    assert "remove_low_shoots" in kinds(steps_for_season(fold(tree(), [], date(2026, 1, 15)), 2027))
    clean = TrainingPractice(low_shoots="remove")
    assert "remove_low_shoots" in kinds(next_steps(fold(tree(), [], date(2026, 1, 15), practice=clean), practice=clean))


def test_tree_a_year_ahead_shows_its_first_pair_and_its_cut_at_the_next_wire():
    ahead = fold(tree(), [measured(date(2026, 12, 1), "leader_height", 1000)], date(2027, 4, 20))
    pair = [limb_of(ahead, f"arm:1:{side}") for side in ("left", "right")]
    assert all(limb.status == "set" and limb.length_mm > 0 for limb in pair)
    assert limb_of(ahead, "trunk").length_mm == 850  # 5 cm above the second wire


def test_trunk_stands_fifteen_centimetres_from_the_fence():
    step = only(next_steps(fold(tree(), [], PLANTING_DAY)), "plant")
    assert "15 cm from the wall" in step.instruction
    assert not [doubt for doubt in doubts(tree(gap_to_wall_mm=150)) if doubt.about == "gap"]
    assert any("wider is found awkward" in doubt.text for doubt in doubts(tree(gap_to_wall_mm=300)))


def test_growth_toward_the_fence_is_taken_out_every_year():
    state = fold(tree(), [], PLANTING_DAY)
    for year in range(2027, 2042):
        assert "toward the wall" in only(steps_for_season(state, year), "clear_wall_side").instruction


@pytest.mark.parametrize("material", ["stretch tape", "rubber", "soft string"])
def test_soft_ties_last_one_season_and_come_off(material: str):
    assert tie_kind(material).young_seasons == 1
    tied = [
        done(day, kind, "tier:1", text=material) for day, kind in zip(SUMMERS, ("tie_in", "lower_arms"), strict=True)
    ]
    state = fold(tree(), tied, date(2026, 11, 20))
    assert state.ties
    assert all(date(2027, 1, 1) < girdling_alarm(tie, state) <= date(2027, 10, 31) for tie in state.ties)
    assert only(steps_for_season(state, 2027), "remove_ties").limb == "tier:1"
