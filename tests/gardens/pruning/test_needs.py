"""What a tree is due: steps and rules with dates, once each, fitting its stage, its age and what was done."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from gardens.knowledge import load_knowledge
from gardens.pruning import Size, minutes_for, needs_for_season, season_of_tree, standard_for, work_of_season
from gardens.training.state import Limb, Step
from tests.gardens.pruning.trees import SOUTH, tree, year_of

KNOWLEDGE = load_knowledge()


def step(kind, limb="leader", part="dormant", **more):
    return Step(
        kind=kind, limb=limb, instruction="Do it.", why="The form asks for it.", source="a book", season=part, **more
    )


def kinds(needs):
    return {need.kind for need in needs}


def by_rule(needs, rule):
    return [need for need in needs if need.rule == rule]


def test_full_apple_is_due_its_winter_and_summer_cuts_in_order():
    needs = needs_for_season(tree(), year_of())
    opens = [need.window.opens for need in needs]

    assert opens == sorted(opens)
    assert {"winter_prune", "summer_prune", "thin_fruit", "pick", "renew_ties", "inspect"} <= kinds(needs)
    assert all(need.source and need.why and need.instruction and need.minutes > 0 and need.rule for need in needs)


def test_forming_apple_is_not_due_the_cuts_of_a_full_one():
    needs = needs_for_season(tree(stage="forming", planted=date(2025, 1, 15)), year_of())

    assert "winter_prune" not in kinds(needs)
    assert "thin_spurs" not in kinds(needs)
    assert by_rule(needs, "pome/blossom_off")


def test_young_tree_is_watered_and_old_one_is_not():
    young = needs_for_season(tree(stage="forming", planted=date(2025, 1, 15)), year_of())
    old = needs_for_season(tree(), year_of())

    assert len(by_rule(young, "all/water_young")) == 3
    assert "water" not in kinds(old)


def test_step_of_the_form_gets_the_dates_of_the_species():
    apple = needs_for_season(tree(stage="forming"), year_of(), [step("head_back", at_mm=850)])
    plum = needs_for_season(
        tree("plum_european", "fan", stage="forming"), year_of("plum_european", "fan"), [step("head_back")]
    )
    winter = next(need for need in apple if need.kind == "head_back")
    spring = next(need for need in plum if need.kind == "head_back")

    assert (winter.window.opens.month, winter.at_mm) == (12, 850)
    assert spring.window.opens.month in (3, 4)
    assert spring.rule == "stone/formative"
    assert "a book" in winter.source


def test_step_without_an_open_day_is_blocked_with_the_reason():
    year = year_of("apple_spur", leaf_fall=date(2026, 5, 1), full_bloom=date(2026, 4, 2), bud_swell=date(2026, 2, 20))
    work = work_of_season(tree(stage="forming"), year, [step("shorten_arms", "arm:1:left")])

    assert [(one.kind, one.limb) for one in work.blocked if one.kind == "shorten_arms"] == [
        ("shorten_arms", "arm:1:left")
    ]
    assert all(one.why for one in work.blocked)


def test_step_stands_in_for_the_yearly_work_of_its_kind():
    alone = needs_for_season(tree(), year_of())
    together = needs_for_season(tree(), year_of(), [step("renew_ties", "tier:2")])

    assert [need.limb for need in alone if need.kind == "renew_ties"] == ["whole"]
    assert [need.limb for need in together if need.kind == "renew_ties"] == ["tier:2"]


def test_form_says_how_a_vine_is_cut_and_species_when():
    vine = tree("grape", "vine_cane_replacement")
    steps = [step("renew_wood", "whole")]
    needs = needs_for_season(vine, year_of("grape", "vine_cane_replacement"), steps)
    cut = by_rule(needs, "grape/winter_prune")

    assert len(cut) == 1
    assert cut[0].instruction.startswith("Do it.\nCut 2 cm or more beyond the last bud.")
    assert "renew_wood" not in kinds(needs)


def test_canes_are_not_asked_for_a_frame():
    needs = needs_for_season(
        tree("raspberry_summer", "vine_tiers"), year_of("raspberry_summer", "vine_tiers"), [step("head_back")]
    )

    assert "head_back" not in kinds(needs)


def test_lost_tree_is_due_its_replacement_only():
    needs = needs_for_season(tree(stage="lost"), year_of(), [step("replace_tree", "whole"), step("head_back")])

    assert [need.kind for need in needs] == ["replace_tree"]


def test_passes_become_needs_that_follow_each_other():
    needs = by_rule(needs_for_season(tree("peach", "fan"), year_of("peach", "fan")), "peach_kind/rub_out")

    assert [need.instruction.splitlines()[0] for need in needs] == ["Pass 1 of 3.", "Pass 2 of 3.", "Pass 3 of 3."]
    assert all(before.window.closes < later.window.opens for before, later in pairwise(needs))


def test_recorded_work_is_not_asked_for_again():
    done = ((date(2026, 8, 20), "summer_prune", "whole"),)
    needs = needs_for_season(tree(done=done), year_of())

    assert not by_rule(needs, "apple_spur/summer_prune")
    assert by_rule(needs, "apple_spur/regrowth")


@pytest.mark.parametrize(("planted", "due"), [(2019, False), (2020, True), (2018, True), (2023, False)])
def test_spurs_are_thinned_from_the_seventh_season_every_other_year(planted, due):
    needs = needs_for_season(tree(planted=date(planted, 1, 15)), year_of())

    assert ("thin_spurs" in kinds(needs)) == due


def test_recorded_turn_counts_before_the_calendar():
    last_winter = ((date(2025, 1, 20), "thin_spurs", "whole"),)
    two_ago = ((date(2024, 1, 20), "thin_spurs", "whole"),)

    assert "thin_spurs" not in kinds(needs_for_season(tree(planted=date(2018, 1, 15), done=last_winter), year_of()))
    assert "thin_spurs" in kinds(needs_for_season(tree(planted=date(2019, 1, 15), done=two_ago), year_of()))


@pytest.mark.parametrize(
    ("planted", "southern", "season"),
    [
        (date(2025, 12, 1), False, 1),
        (date(2025, 3, 1), False, 2),
        (date(2026, 6, 1), True, 1),
        (date(2026, 4, 1), True, 2),
    ],
)
def test_seasons_of_a_tree_are_counted_from_its_first_growth(planted, southern, season):
    assert season_of_tree(planted, 2026, is_southern=southern) == season


def test_needs_carry_gates_the_climate_core_can_ask():
    from gardens.climate import shipped_gates

    for species, form in (("apple_spur", "horizontal_tiers"), ("apricot", "fan"), ("olive", "informal")):
        for need in needs_for_season(tree(species, form), year_of(species, form)):
            assert set(need.weather_rule.split()) <= set(shipped_gates())


def test_southern_tree_is_due_its_winter_cut_in_june_to_september():
    needs = needs_for_season(tree(planted=date(2016, 7, 1)), year_of(place=SOUTH))
    cut = by_rule(needs, "pome/winter_prune")[0]

    assert (cut.window.opens, cut.window.closes.month) == (date(2026, 6, 3), 9)


def test_thinning_says_how_many_fruits_the_arms_hold():
    # RHS text on thinning, 10 to 15 cm: 12 m of arms at 12.5 cm hold 96; NIAB: at most 9 per cm² of trunk.
    need = by_rule(needs_for_season(tree(girth_mm=200), year_of()), "apple/thin_fruit")[0]

    assert "Leave about 96 fruits on 12.0 m of arms, no more than 286 by the girth" in need.instruction


def test_minutes_follow_the_standard_and_the_size():
    # Labour priors: winter 6 + 2 min a metre; 12 m of arm within reach → 30 min.
    state = tree()
    standard = standard_for("winter_prune", KNOWLEDGE.species["apple_spur"], "horizontal_tiers", KNOWLEDGE)

    assert Size(state).arm_m == pytest.approx(12.0)
    assert minutes_for(standard, Size(state), "whole", KNOWLEDGE.factors) == 30.0


def test_same_cut_on_more_limbs_is_set_up_once():
    limbs = [step("shorten_arms", f"arm:{tier}:left", "dormant") for tier in (1, 2, 3)]
    needs = [need for need in needs_for_season(tree(), year_of(), limbs) if need.kind == "shorten_arms"]

    assert [need.minutes for need in needs] == [5.0, 2.0, 2.0]


def test_fourteen_metres_of_espalier_take_35_minutes_in_winter():
    # Anchor of the prior: 14.4 m → 35 min, beside 34 min for a mature standard (Woodworth and Potter, N.H. 1931).
    arm = Limb(
        key="arm:1:left", kind="arm", status="set", length_mm=14400, wanted_mm=14400, angle_deg=0.0, origin_y_mm=400
    )
    standard = standard_for("winter_prune", KNOWLEDGE.species["apple_spur"], "horizontal_tiers", KNOWLEDGE)

    assert minutes_for(standard, Size(tree(limbs=(arm,))), "whole", KNOWLEDGE.factors) == pytest.approx(34.8)


def test_work_out_of_reach_and_neglect_take_longer():
    high = Limb(
        key="arm:5:left", kind="arm", status="set", length_mm=2000, wanted_mm=2000, angle_deg=0.0, origin_y_mm=2500
    )
    low = Limb(
        key="arm:1:left", kind="arm", status="set", length_mm=2000, wanted_mm=2000, angle_deg=0.0, origin_y_mm=500
    )
    standard = standard_for("summer_prune", KNOWLEDGE.species["apple_spur"], "horizontal_tiers", KNOWLEDGE)
    usual = minutes_for(standard, Size(tree(limbs=(low,))), "whole", KNOWLEDGE.factors)

    assert minutes_for(standard, Size(tree(limbs=(high,))), "whole", KNOWLEDGE.factors) == pytest.approx(
        usual * 1.6, abs=0.1
    )
    assert minutes_for(
        standard, Size(tree(limbs=(low,), stage="renovating")), "whole", KNOWLEDGE.factors
    ) == pytest.approx(usual * 2, abs=0.1)


@pytest.mark.parametrize("kind", KNOWLEDGE.species["apple_spur"].kinds)
def test_every_kind_of_work_has_a_labour_standard(kind):
    assert standard_for(kind, KNOWLEDGE.species["apple_spur"], "horizontal_tiers", KNOWLEDGE) is not None
