"""The tree as it stands: the fold of its records."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.training import Record, TrainingPractice, fold, forecast, next_steps, project
from gardens.training.state import FORMS, WORK_KINDS
from tests.gardens.training.trees import done, length, limb_of, measured, of_form, seen, tree


def test_whip_is_planted_then_forming():
    assert fold(tree(), [], date(2025, 12, 1)).stage == "planted"
    assert fold(tree(), [], date(2026, 1, 15)).stage == "planted"
    assert fold(tree(), [], date(2026, 6, 1)).stage == "forming"


def test_tree_without_records_is_estimated_to_its_end():
    stages = [fold(tree(), [], date(year, 12, 1)).stage for year in range(2026, 2036)]
    order = ["forming", "extending", "full"]
    assert sorted(stages, key=order.index) == stages
    assert set(stages) == set(order)


def test_whip_planted_in_summer_is_formed_from_the_next_season():
    late = fold(tree(planted_on=date(2026, 7, 1)), [], date(2026, 12, 1))
    assert late.stage == "planted"
    assert late.tiers_set == 0


def test_southern_tree_lives_six_months_apart():
    north = fold(tree(), [], date(2027, 7, 1))
    south = fold(tree(planted_on=date(2026, 6, 10), is_southern=True), [], date(2027, 12, 30))
    assert [limb.status for limb in south.limbs] == [limb.status for limb in north.limbs]
    assert abs(south.leader_height_mm - north.leader_height_mm) < 25


def test_measured_length_stands_until_growth_goes_on():
    records = [measured(date(2027, 11, 10), "limb_length", 777, "arm:1:left")]
    assert length(fold(tree(), records, date(2028, 2, 1)), "arm:1:left") == 777
    assert length(fold(tree(), records, date(2028, 11, 1)), "arm:1:left") > 777


def test_state_is_estimated_until_everything_is_measured():
    day = date(2026, 11, 10)
    records = [
        measured(day, "leader_height", 900),
        measured(day, "limb_length", 300, "arm:1:left"),
        measured(day, "limb_length", 300, "arm:1:right"),
    ]
    assert fold(tree(), [], day).estimated
    assert not fold(tree(), records, day).estimated
    assert fold(tree(), records, date(2027, 8, 1)).estimated


def test_two_winters_of_lengths_tell_a_season_of_growth():
    records = [
        measured(date(2026, 11, 10), "limb_length", 300, "arm:1:left"),
        done(date(2027, 2, 10), "shorten_arms", "arm:1:left", value=300),
        measured(date(2027, 11, 10), "limb_length", 640, "arm:1:left"),
    ]
    assert (2027, "arm:1:left", 340) in fold(tree(), records, date(2027, 12, 1)).growth_mm


def test_slow_growth_measured_slows_the_estimate():
    slow = [measured(date(2026 + year, 11, 10), "season_growth", 180, "tier:1") for year in range(3)]
    day = date(2031, 12, 1)
    assert length(fold(tree(), slow, day), "arm:3:left") < length(fold(tree(), [], day), "arm:3:left")


def test_limb_held_at_its_end_does_not_tell_its_growth():
    records = [
        measured(date(2029, 11, 10), "limb_length", 1600, "arm:1:left"),
        done(date(2030, 2, 10), "shorten_arms", "arm:1:left", value=1600),
        measured(date(2030, 11, 10), "limb_length", 1800, "arm:1:left"),
    ]
    told = {(season, limb) for season, limb, _ in fold(tree(), records, date(2030, 12, 1)).growth_mm}
    assert (2030, "arm:1:left") not in told


def test_arm_let_down_on_a_full_tree_leaves_it_full():
    facts = tree(planted_on=date(2010, 1, 10))
    for record in (
        done(date(2025, 7, 1), "lower_arms", "arm:1:left", value=30),
        measured(date(2025, 7, 1), "limb_angle", 30, "arm:1:left"),
    ):
        state = fold(facts, [record], date(2025, 7, 2))
        assert (state.stage, limb_of(state, "arm:1:left").angle_deg) == ("full", 30)


def test_recorded_heading_sets_the_next_tier():
    records = [done(date(2027, 2, 1), "head_back", "leader", value=830)]
    state = fold(tree(), records, date(2027, 2, 2))
    assert state.leader_height_mm == 830
    assert limb_of(state, "arm:2:left").season == 2027


def test_shoots_pass_from_chosen_to_tied_to_set():
    records = [
        done(date(2026, 5, 10), "select_shoots", "tier:1"),
        done(date(2026, 6, 20), "tie_in", "tier:1", text="jute"),
        done(date(2026, 11, 20), "lower_arms", "tier:1", text="stretch tape"),
    ]
    days = {
        date(2026, 5, 11): "chosen",
        date(2026, 6, 21): "tied",
        date(2026, 11, 19): "tied",
        date(2026, 11, 21): "set",
    }
    for day, status in days.items():
        assert limb_of(fold(tree(), records, day), "arm:1:right").status == status
    ties = {tie.limb: (tie.since, tie.material) for tie in fold(tree(), records, date(2026, 12, 1)).ties}
    assert ties["arm:1:left"] == (date(2026, 11, 20), "stretch tape")


def test_recorded_tie_stays_until_its_removal_is_recorded():
    tied = done(date(2026, 6, 20), "tie_in", "arm:1:left", text="jute")
    off = done(date(2028, 3, 1), "remove_ties", "tier:1")
    assert any(tie.limb == "arm:1:left" for tie in fold(tree(), [tied], date(2028, 2, 1)).ties)
    assert not any(tie.limb == "arm:1:left" for tie in fold(tree(), [tied, off], date(2028, 3, 2)).ties)


def test_lost_arm_is_wanted_again_when_its_repair_starts():
    lost = seen(date(2027, 6, 1), "lost", "arm:1:left")
    assert limb_of(fold(tree(), [lost], date(2027, 12, 1)), "arm:1:left").status == "lost"
    spare = [lost, done(date(2028, 5, 1), "tie_in", "arm:1:left")]
    assert fold(tree(), spare, date(2028, 5, 2)).limb("arm:1:left").status == "tied"  # type: ignore[union-attr]
    again = [lost, done(date(2028, 5, 1), "select_shoots", "arm:1:left")]
    repaired = limb_of(fold(tree(), again, date(2028, 5, 2)), "arm:1:left")
    assert (repaired.status, repaired.length_mm) == ("chosen", 0) or repaired.length_mm < 100


def test_accepted_gap_lets_the_form_be_full():
    facts = tree(planted_on=date(2012, 1, 10))
    lost = seen(date(2024, 6, 1), "lost", "arm:1:left")
    accepted = replace(lost, text="accepted")
    assert fold(facts, [], date(2024, 7, 1)).stage == "full"
    assert fold(facts, [lost], date(2024, 7, 1)).stage != "full"
    assert fold(facts, [accepted], date(2024, 7, 1)).stage == "full"


def test_tree_given_up_limb_by_limb_has_no_forecast():
    limbs = [limb.key for limb in fold(of_form("step_over"), [], date(2026, 6, 1)).limbs]
    given_up = [seen(date(2026, 6, 1), "lost", key, text="accepted") for key in limbs]
    state = fold(of_form("step_over"), given_up, date(2026, 7, 1))
    assert {limb.status for limb in state.limbs if limb.kind == "arm"} == {"lost"}
    assert forecast(state).full_p50 is None


def test_first_arms_given_up_do_not_hold_the_leader_back():
    lost = seen(date(2026, 6, 1), "lost", "tier:1", text="accepted")
    patient = TrainingPractice(wait_for_strong_first_arms=True)
    assert forecast(fold(tree(), [lost], date(2026, 7, 1), practice=patient), practice=patient).full_p50


def test_ribs_are_lost_with_the_arm_that_bears_them():
    state = fold(of_form("fan"), [seen(date(2030, 6, 1), "lost", "arm:1:left")], date(2030, 7, 1))
    assert {limb.status for limb in state.limbs if limb.kind == "rib" and limb.side < 0} == {"lost"}


def test_lost_tree_stays_lost_until_it_is_replaced():
    lost = seen(date(2028, 6, 1), "lost", "whole")
    state = fold(tree(), [lost], date(2030, 1, 1))
    assert (state.stage, next_steps(state), forecast(state).full_p50) == ("lost", (), None)
    again = fold(tree(), [lost, done(date(2029, 1, 20), "replace_tree")], date(2029, 2, 1))
    assert again.stage == "planted"
    assert again.facts.planted_on == date(2029, 1, 20)


def test_ready_trained_tree_starts_with_its_tiers():
    state = fold(tree(start="ready_trained", tiers_at_start=2), [], date(2026, 1, 10))
    assert state.tiers_set == 2
    assert state.stage == "forming"
    assert state.leader_height_mm > 800


def test_feathered_tree_gains_a_season():
    feathered = fold(tree(start="feathered"), [], date(2026, 12, 1))
    assert feathered.tiers_set > fold(tree(), [], date(2026, 12, 1)).tiers_set


def test_neglected_tree_is_renovated_over_three_seasons():
    """Selwyn Times 2017 and British plum answers: at most a third of the canopy, renovation over two to three years."""
    facts = tree(start="neglected")
    stages = [fold(facts, [], date(year, 6, 1)).stage for year in (2026, 2027, 2028, 2029)]
    assert stages == ["renovating", "renovating", "renovating", "full"]
    for season in (2026, 2027, 2028):
        (step,) = [s for s in next_steps(fold(facts, [], date(season, 1, 10))) if s.kind == "winter_prune"]
        assert "a third" in step.instruction
    with pytest.raises(ValueError, match="share"):
        TrainingPractice(renovation_share=0)


def test_renovation_ends_early_when_it_is_recorded():
    over = done(date(2027, 2, 1), "winter_prune", text="renovation finished")
    assert fold(tree(start="neglected"), [over], date(2027, 6, 1)).stage == "full"


def test_state_carried_on_equals_the_state_folded_later():
    for form in FORMS:
        for year in range(2026, 2031):
            early = fold(of_form(form), [], date(year, 2, 1))
            late = date(year + 1, 8, 1)
            expected = {limb.key: limb for limb in fold(of_form(form), [], late).limbs}
            for limb in project(early, late).limbs:
                assert abs(limb.length_mm - expected[limb.key].length_mm) <= 3, (form, year, limb.key)
                assert limb.status == expected[limb.key].status, (form, year, limb.key)


# -- properties ---------------------------------------------------------------------------------------------------

LIMBS = (
    "whole",
    "leader",
    "trunk",
    "tier:1",
    "tier:2",
    "arm:1:left",
    "arm:2:right",
    "rib:1:left",
    "axis:1",
    "rod:1",
    "arm:1",
)
TEXTS = ("", "jute", "accepted", "rubber", "centre leader", "renovation finished", "nonsense")
days = st.dates(date(2025, 11, 1), date(2036, 12, 31))
values = st.one_of(st.none(), st.floats(0, 4000))
a_record = (
    st.builds(
        Record,
        on=days,
        kind=st.just("done"),
        what=st.sampled_from(WORK_KINDS),
        limb=st.sampled_from(LIMBS),
        value=values,
        text=st.sampled_from(TEXTS),
        key=st.text("abc", max_size=2),
    )
    | st.builds(
        Record,
        on=days,
        kind=st.just("measured"),
        what=st.sampled_from(("leader_height", "limb_length", "limb_angle", "trunk_girth", "season_growth")),
        limb=st.sampled_from(LIMBS),
        value=values,
        key=st.text("abc", max_size=2),
    )
    | st.builds(
        Record,
        on=days,
        kind=st.just("seen"),
        what=st.sampled_from(("lost", "weak", "note", "disease")),
        limb=st.sampled_from(LIMBS[1:]),
        text=st.sampled_from(TEXTS),
    )
)
forms = st.sampled_from(FORMS)


@settings(deadline=None, max_examples=50)
@given(
    forms, st.lists(a_record, max_size=12), days, st.sampled_from(("whip", "feathered", "ready_trained", "neglected"))
)
def test_any_sequence_of_records_gives_a_state(form, records, on, start):
    state = fold(of_form(form, start=start), records, on)
    assert state.on == on
    assert all(limb.length_mm >= 0 for limb in state.limbs)
    assert state.tiers_set <= len(state.limbs)
    next_steps(state)
    forecast(state, minutes=lambda work: work.metres)


@settings(deadline=None, max_examples=50)
@given(forms, st.lists(a_record, max_size=10), st.randoms(use_true_random=False))
def test_records_in_any_order_give_the_same_state(form: str, records: list[Record], dice: random.Random):
    shuffled = list(records)
    dice.shuffle(shuffled)
    on = date(2034, 6, 1)
    assert fold(of_form(form), shuffled, on) == fold(of_form(form), records, on)


@settings(deadline=None, max_examples=50)
@given(forms, st.lists(a_record, max_size=8), days)
def test_full_tree_never_returns_to_forming_without_a_loss(form: str, records: list[Record], on: date):
    kept = [record for record in records if record.what not in ("lost", "replace_tree")]
    was_full = False
    for half_year in range(20):
        state = fold(of_form(form), kept, on + timedelta(days=183 * half_year))
        assert not (was_full and state.stage in ("planted", "forming")), state.on
        was_full = was_full or state.stage == "full"
