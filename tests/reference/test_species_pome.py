"""Apple, pear and their kin against published pruning advice. Sources stand beside each case."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.pruning import AdviceRequest, Situation, advise
from tests.reference.asking import ENGLAND, NEW_ZEALAND_SOUTH, UTAH, ask, due_now, verdict


def test_apple_with_set_terminal_buds_is_due_its_summer_cut():
    # RHS, J. Arbury, summer pruning fruit trees: mid to late August, to 3 leaves above the basal cluster, 1 from spurs.
    on = date(2026, 8, 20)
    need = due_now(ask("apple", "horizontal_tiers", on), on, "summer_prune")[0]

    assert "3 leaves above the basal cluster" in need.instruction
    assert "1 leaf" in need.instruction


def test_apple_still_growing_in_july_waits_for_its_terminal_bud():
    # RHS, same page: only once the base third is woody and growth has stopped.
    on = date(2026, 7, 20)
    advice = ask("apple", "horizontal_tiers", on)
    said = verdict(advice, "summer_prune")
    opens = min(need.window.opens for need in advice.due if need.kind == "summer_prune")

    assert (said.is_allowed, said.code) == (False, "WAIT")
    assert date(2026, 8, 8) <= opens <= date(2026, 8, 28)


def test_pear_is_due_its_summer_cut_three_weeks_before_apple():
    # RHS, same page: pears late July to early August.
    on = date(2026, 8, 1)

    assert due_now(ask("pear", "horizontal_tiers", on), on, "summer_prune")
    assert not verdict(ask("apple", "horizontal_tiers", on), "summer_prune").is_allowed


def test_short_shoots_are_left_uncut_in_the_summer_cut():
    # The Westmorland Gazette, summer pruning column: shoots under about 20 cm are left.
    on = date(2026, 8, 20)
    need = due_now(ask("apple", "oblique_cordon", on), on, "summer_prune")[0]

    assert "Leave every shoot of 20 cm or less." in need.instruction


def test_regrowth_may_be_cut_in_mid_september():
    # The Westmorland Gazette and Toronto Master Gardeners: secondary growth out in September.
    on = date(2026, 9, 12)
    needs = due_now(ask("apple", "horizontal_tiers", on), on, "summer_prune")

    assert any(need.rule == "apple_spur/regrowth" for need in needs)


def test_tip_bearing_sort_on_wires_is_warned_of():
    # orchardorigins.org 2014 ('Irish Peach' bears at tips); ashridgetrees.co.uk: unsuited to restricted forms.
    advice = ask("apple_tip", "oblique_cordon", date(2026, 3, 1), cultivar="Irish Peach")
    said = verdict(advice, "summer_prune")

    assert any("tip" in warning.text for warning in advice.warnings)
    assert (said.is_allowed, said.code) == (False, "FLOWER_LOSS")


def test_sort_planted_as_spur_bearer_that_bears_at_tips_is_named():
    advice = ask("apple", "horizontal_tiers", date(2026, 3, 1), cultivar="Irish Peach")

    assert any("apple_tip" in warning.text and "Irish Peach" in warning.text for warning in advice.warnings)


def test_green_leaved_apple_in_a_utah_november_is_left_alone():
    # Utah State University Extension, when to prune: no autumn pruning, February to late April.
    said = verdict(ask("apple", "informal", date(2026, 11, 10), UTAH), "winter_prune")

    assert not said.is_allowed
    assert said.code in ("COLD", "REGROWTH")


@pytest.mark.parametrize("month", [2, 3])
def test_utah_apple_may_be_pruned_in_late_winter(month):
    # Utah State University Extension, when to prune: February to late April.
    assert verdict(ask("apple", "informal", date(2026, month, 20), UTAH), "winter_prune").is_allowed


def test_dormant_apple_in_new_zealand_july_may_be_pruned():
    # New Zealand Herald, Whanganui, 30 June 2023: pome fruit in July.
    said = verdict(ask("apple", "horizontal_tiers", date(2026, 7, 10), NEW_ZEALAND_SOUTH), "winter_prune")

    assert said.is_allowed


def test_new_zealand_apple_in_may_waits_for_winter():
    # New Zealand Herald, same page: not earlier, a warm spell then frost does harm.
    on = date(2026, 5, 10)
    advice = ask("apple", "horizontal_tiers", on, NEW_ZEALAND_SOUTH)
    opens = min(need.window.opens for need in advice.due if need.kind == "winter_prune")

    assert not verdict(advice, "winter_prune").is_allowed
    assert date(2026, 6, 1) <= opens <= date(2026, 7, 15)


def test_fire_blight_is_not_cut_with_rain_a_day_ahead():
    # extension.org answer 260277: 48 dry hours; 30 cm below the edge, 60 cm on thick limbs (bonsaiforeveryone.com).
    on = date(2026, 6, 1)
    advice = ask("pear", "informal", on, rain_in_h=24, diseases=frozenset({"fire_blight"}))
    said = verdict(advice, "clean_out")

    assert (said.is_allowed, said.code) == (False, "FIRE_BLIGHT")


def test_fire_blight_may_be_cut_in_two_dry_days_with_the_long_margin():
    on = date(2026, 6, 1)
    advice = ask("pear", "informal", on, rain_in_h=60, dry_behind_h=30, diseases=frozenset({"fire_blight"}))

    assert verdict(advice, "clean_out").is_allowed


def test_dormant_blight_canker_may_be_cut_with_margin():
    # Illinois Extension and Cornell NEWA: safest in dormancy, 30 cm below.
    advice = ask("pear", "informal", date(2026, 1, 15), diseases=frozenset({"fire_blight"}))

    assert verdict(advice, "clean_out").is_allowed
    assert any("30 cm below" in w.text and "60 cm" in w.text for w in advice.warnings)


def test_protected_apple_may_be_pruned_for_fruit_but_not_felled():
    # Town and Country Planning (Trees) Regulations 1999 art. 5(1)(c); Fylde Council on conservation areas.
    advice = ask("apple", "horizontal_tiers", date(2026, 1, 15))

    assert verdict(advice, "winter_prune").is_allowed
    assert any("preservation order" in warning.text and "record" in warning.text for warning in advice.warnings)


def test_felling_carries_the_notice_of_the_law():
    request = AdviceRequest(
        species="apple",
        form="horizontal_tiers",
        planted_on=date(2016, 1, 1),
        on=date(2026, 1, 15),
        place=ENGLAND,
        situation=Situation(),
    )
    year_of_law = [c for c in _hazards(advise(request)) if c.topic == "law" and "replace_tree" in c.kinds]

    assert "six weeks" in year_of_law[0].text


def _hazards(_advice):
    from gardens.knowledge import load_knowledge

    return load_knowledge().hazards.caution


def test_quince_is_cut_while_dormant_only():
    # Quince and medlar cultural instructions (docslib.org 8119232): dormant pruning only.
    assert verdict(ask("quince", "fan", date(2026, 1, 20)), "winter_prune").is_allowed
    assert not verdict(ask("quince", "fan", date(2026, 6, 20)), "winter_prune").is_allowed
