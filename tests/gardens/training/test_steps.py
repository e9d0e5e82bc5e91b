"""The steps of a season."""

from __future__ import annotations

import re
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.training import TrainingPractice, fold, next_steps, steps_for_season
from gardens.training.state import FORMS, WORK_KINDS, Record, TreeState
from tests.gardens.training.test_replay import a_record, forms
from tests.gardens.training.trees import done, kinds, length, limb_of, measured, of_form, only, seen, tree

FIRST_WORDS = {
    "Bend", "Bring", "Cut", "If", "Keep", "Lay", "Leave", "Lower", "Pick", "Pinch", "Plant", "Raise", "Renew", "Rub", "Set",
    "Shorten", "Take", "Thin", "Tie", "Top", "Turn", "Untie",
}  # fmt: skip


def a_year(form: str, year: int, **changes: object) -> tuple[object, ...]:
    return steps_for_season(fold(of_form(form, **changes), [], date(2025, 12, 10)), year)


@pytest.mark.parametrize("form", FORMS)
def test_instructions_are_short_imperative_sentences(form: str):
    for start in ("whip", "feathered", "ready_trained", "neglected"):
        state = fold(of_form(form, start=start), [], date(2025, 12, 10))
        for year in range(2026, 2037):
            for step in steps_for_season(state, year):
                assert step.instruction.split()[0] in FIRST_WORDS, step.instruction
                assert step.instruction.endswith("."), step.instruction
                assert len(step.instruction) < 215, step.instruction
                assert not re.search(r"\d\.\d{3,}|\bNone\b| {2}|mm mm", step.instruction), step.instruction
                assert step.why.endswith(".")
                assert step.source
                assert step.kind in WORK_KINDS


def test_whole_season_is_told_in_the_order_of_the_year():
    steps = next_steps(fold(tree(), [], date(2025, 12, 10)))
    order = ["dormant", "spring", "summer", "autumn", "any"]
    parts = [order.index(step.season) for step in steps]
    assert parts == sorted(parts)
    assert set(parts) >= {0, 1, 2, 3}
    assert {step.year for step in steps} == {2026}
    assert steps[0].kind == "plant"
    assert "15 cm from the wall" in steps[0].instruction


def test_imperial_readers_get_inches():
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)), units="imperial")
    text = only(steps, "head_back", "leader").instruction
    assert "17½ in above the ground" in text
    assert "cm" not in " ".join(step.instruction for step in steps)


def test_done_work_is_not_asked_for_again():
    headed = [done(date(2026, 1, 20), "head_back", "leader", value=450)]
    steps = next_steps(fold(tree(), headed, date(2026, 1, 21)))
    assert "head_back" not in kinds(steps)
    assert only(steps, "select_shoots", "tier:1").season == "spring"
    chosen = [*headed, done(date(2026, 5, 10), "select_shoots", "tier:1"), done(date(2026, 5, 10), "rub_out", "tier:1")]
    assert not kinds(next_steps(fold(tree(), chosen, date(2026, 5, 11)))) & {"select_shoots", "rub_out", "head_back"}


def test_shoots_grow_a_season_before_they_are_lowered():
    """Common practice: the new shoots grow a whole season before they are tied down."""
    steps = next_steps(fold(tree(), [], date(2026, 1, 15)))
    assert only(steps, "tie_in", "tier:1").season == "summer"
    assert only(steps, "lower_arms", "tier:1").season == "autumn"


def test_one_shoot_leads_until_the_top_wire_ends_it():
    """Common practice: one shoot always takes over; growing magazine, May 2018: at the top two arms, no leader."""
    state = fold(tree(), [], date(2025, 12, 10))
    for year in (2026, 2027, 2028):
        assert "one straight up" in only(steps_for_season(state, year), "select_shoots").instruction
    last = steps_for_season(state, 2029)
    assert "straight up" not in only(last, "select_shoots").instruction
    assert "two good buds" in only(last, "head_back", "leader").instruction
    assert not [step for step in last if step.kind == "tie_in" and step.limb == "leader"]


@pytest.mark.parametrize(("practice", "first"), [("keep_first_year", "pinch"), ("remove", "remove_low_shoots")])
def test_low_shoots_follow_the_practice_of_the_business(practice: str, first: str):
    """Common practice knows both: low shoots may stay in the first year to feed the roots, or come off at once."""
    how = TrainingPractice(low_shoots=practice)  # type: ignore[arg-type]
    state = fold(tree(), [], date(2026, 1, 15), practice=how)
    low = [step.kind for step in next_steps(state, practice=how) if step.limb == "trunk"]
    assert low == [first]
    assert "remove_low_shoots" in kinds(steps_for_season(state, 2027, practice=how))


def test_wall_side_growth_goes_every_year():
    """Common practice."""
    state = fold(tree(), [], date(2025, 12, 10))
    for year in range(2027, 2040):
        assert "clear_wall_side" in kinds(steps_for_season(state, year))


def test_free_standing_tree_has_no_wall_to_speak_of():
    steps = steps_for_season(fold(tree(gap_to_wall_mm=0), [], date(2025, 12, 10)), 2027)
    assert "wall" not in only(steps, "clear_wall_side").instruction


def test_ties_come_off_after_one_season():
    """Common practice: soft tape or rubber ties last one season and come off after it."""
    for material in ("stretch tape", "jute", "soft string"):
        tied = [
            done(date(2026, 6, 20), "tie_in", "tier:1", text=material),
            done(date(2026, 10, 20), "lower_arms", "tier:1", text=material),
        ]
        steps = steps_for_season(fold(tree(), tied, date(2026, 10, 25)), 2027)
        off = only(steps, "remove_ties")
        assert off.limb == "tier:1"
        assert "October 2026" in off.instruction


def test_overdue_ties_of_a_slanted_arm_are_renewed():
    tied = [done(date(2025, 6, 20), "tie_in", "tier:1", text="jute")]
    facts = tree(planted_on=date(2025, 1, 10))
    steps = next_steps(fold(facts, tied, date(2026, 5, 1)))
    assert "renew_ties" in kinds(steps)


def test_full_tree_is_only_kept():
    steps = next_steps(fold(tree(planted_on=date(2010, 1, 10)), [], date(2026, 1, 10)))
    assert kinds(steps) == {"shorten_arms", "clear_wall_side", "thin_spurs", "summer_prune"}
    without = TrainingPractice(asks_for_upkeep=False)
    assert kinds(next_steps(fold(tree(planted_on=date(2010, 1, 10)), [], date(2026, 1, 10)), practice=without)) == {
        "shorten_arms",
        "clear_wall_side",
    }


def test_weak_arm_is_raised_though_nothing_was_measured():
    weak = [seen(date(2026, 7, 1), "weak", "arm:1:right")]
    steps = next_steps(fold(tree(), weak, date(2026, 7, 2)))
    assert only(steps, "tie_in", "arm:1:right").to_angle_deg == 60
    assert only(steps, "lower_arms", "arm:1:left").to_angle_deg == 30


def test_lost_arm_gets_a_spare_then_a_graft():
    lost = [seen(date(2026, 6, 20), "lost", "arm:1:left")]
    early = " ".join(
        step.instruction for step in next_steps(fold(tree(), lost, date(2026, 12, 1))) if step.limb == "arm:1:left"
    )
    assert "spare shoot" in early
    assert "strip of bark" in early
    late = [step for step in next_steps(fold(tree(), lost, date(2028, 12, 1))) if step.limb == "arm:1:left"]
    assert "graft into the trunk 40 cm above the ground" in late[0].instruction


def test_lost_arm_of_a_full_tree_may_be_accepted():
    lost = [seen(date(2025, 6, 20), "lost", "arm:1:left")]
    steps = next_steps(fold(tree(planted_on=date(2010, 1, 10)), lost, date(2026, 1, 10)))
    assert "record the gap as accepted" in only(steps, "inspect", "arm:1:left").instruction


def test_strict_practice_cuts_the_leader_to_one_bud():
    """Le parfait jardinier: after tier 1 the leader goes back to one bud, tier 2 waits for strong arms."""
    strict = TrainingPractice(wait_for_strong_first_arms=True)
    state = fold(tree(), [], date(2027, 1, 10), practice=strict)
    assert "one bud" in only(next_steps(state, practice=strict), "head_back", "leader").instruction
    assert "head_back" in kinds(steps_for_season(state, 2028, practice=strict))


def test_cordon_at_the_top_is_cut_or_lowered():
    """The Guardian, 6 April 2008: cut the tip at the top wire; or lower the cane by 5 degrees (from memory)."""
    facts = of_form("oblique_cordon", planted_on=date(2015, 1, 10))
    assert only(next_steps(fold(facts, [], date(2026, 1, 10))), "head_back").season == "spring"
    lower = TrainingPractice(stem_at_top="lower")
    state = fold(facts, [], date(2026, 1, 10), practice=lower)
    assert only(next_steps(state, practice=lower), "lower_arms").to_angle_deg == 40


def test_candelabra_shoots_turn_up_at_their_line():
    facts = of_form("candelabra_palmette")
    turned: dict[str, int] = {}
    for year in range(2026, 2034):
        for step in steps_for_season(fold(facts, [], date(2025, 12, 10)), year):
            if "onto its lath" in step.instruction:
                turned.setdefault(step.limb, year)
    assert set(turned) == {"axis:1", "axis:2", "axis:3", "axis:4"}


def test_lattice_arms_are_tied_where_they_cross():
    steps = steps_for_season(fold(of_form("lattice"), [], date(2025, 12, 10)), 2027)
    assert "at each crossing" in " ".join(step.instruction for step in steps)


def test_vine_roots_for_a_year_unless_it_is_trained_at_once():
    """Christensen, Vine Training: let it root, then two buds; wine growers' page: train at once."""
    facts = of_form("vine_rod_and_spur", wire_heights_mm=(800, 1100))
    rooted = steps_for_season(fold(facts, [], date(2025, 12, 10)), 2027)
    assert "two buds" in only(rooted, "head_back", "leader").instruction
    train = TrainingPractice(vine_first_year="train")
    state = fold(facts, [], date(2025, 12, 10), practice=train)
    assert "two buds" not in only(steps_for_season(state, 2027, practice=train), "head_back", "leader").instruction


def test_season_that_is_over_has_no_steps():
    state = fold(tree(), [], date(2027, 1, 10))
    assert steps_for_season(state, 2026) == ()
    assert steps_for_season(fold(tree(), [], date(2025, 12, 10)), 2025) == ()


def test_southern_steps_follow_the_southern_winter():
    facts = tree(planted_on=date(2026, 6, 10), is_southern=True)
    steps = next_steps(fold(facts, [], date(2026, 7, 1)))
    assert only(steps, "head_back", "leader").at_mm == 450


# -- properties ---------------------------------------------------------------------------------------------------


def highest_kept(state: TreeState) -> int:
    return max(
        (
            limb.origin_y_mm
            for limb in state.limbs
            if limb.parent == "trunk"
            and limb.season
            and limb.status != "lost"
            and limb.kind != "leader"
            and limb.season < 2100
        ),
        default=0,
    )


@settings(deadline=None, max_examples=80)
@given(forms, st.lists(a_record, max_size=10), st.dates(date(2025, 12, 1), date(2036, 12, 31)))
def test_no_step_cuts_below_a_limb_that_is_kept(form: str, records: list[Record], on: date):
    state = fold(of_form(form), records, on)
    borne = {limb.key: limb for limb in state.limbs}
    for step in next_steps(state):
        if step.at_mm is None or step.kind not in ("head_back", "shorten_arms"):
            continue
        if step.limb == "leader" and "trunk" in borne:
            margin = 20 if form == "step_over" else 30 if form.startswith("vine") else 0
            assert step.at_mm >= highest_kept(state) - margin, step
        else:
            assert step.at_mm <= borne[step.limb].length_mm or step.at_mm == borne[step.limb].wanted_mm, step


@settings(deadline=None, max_examples=40)
@given(st.lists(a_record, max_size=8), st.dates(date(2027, 1, 1), date(2036, 12, 31)))
def test_shortened_fan_arms_keep_the_ribs_they_bear(records: list[Record], on: date):
    state = fold(of_form("fan"), records, on)
    for step in next_steps(state):
        if step.kind != "shorten_arms" or step.at_mm is None or not step.limb.startswith("arm"):
            continue
        ribs = [limb for limb in state.limbs if limb.parent == step.limb and limb.season and limb.status != "lost"]
        arm = limb_of(state, step.limb)
        for rib in ribs:
            along = ((rib.origin_x_mm - arm.origin_x_mm) ** 2 + (rib.origin_y_mm - arm.origin_y_mm) ** 2) ** 0.5
            assert step.at_mm >= along - 2 or arm.length_mm < along, (step, rib.key)


def test_fan_arm_is_not_cut_below_its_last_rib():
    day = date(2027, 12, 1)
    grown = [measured(day, "limb_length", 650, "arm:1:left"), measured(day, "season_growth", 600, "arm:1:left")]
    state = fold(of_form("fan"), grown, date(2028, 1, 10))
    ribs = [limb for limb in state.limbs if limb.parent == "arm:1:left" and limb.season]
    assert max(abs(rib.origin_x_mm) for rib in ribs) > 450
    cuts = [step.at_mm or 0 for step in next_steps(state) if step.kind == "shorten_arms" and step.limb == "arm:1:left"]
    assert all(cut >= 600 for cut in cuts)
    assert length(fold(of_form("fan"), grown, date(2028, 4, 14)), "arm:1:left") >= 600


def test_leader_measured_after_heading_is_not_headed_twice():
    records = [
        done(date(2027, 1, 20), "head_back", "leader", value=850),
        measured(date(2027, 2, 20), "leader_height", 850),
    ]
    assert "head_back" not in kinds(next_steps(fold(tree(), records, date(2027, 2, 21))))
