"""Stone fruit against published advice: what winter forbids here, it asks for there. Sources stand beside each case."""

from __future__ import annotations

from datetime import date

import pytest

from tests.reference.asking import (
    CALIFORNIA,
    ENGLAND,
    MINNESOTA,
    NEW_ZEALAND_NORTH,
    SOUTHERN_ENGLAND,
    VIRGINIA,
    ask,
    due_now,
    verdict,
)

CUTS = ("summer_prune", "winter_prune", "renew_wood", "head_back", "shorten_arms")


def test_english_plum_in_january_is_shut_by_silver_leaf():
    # Amateur Gardening 8 July 2023: spores most abundant September to May; Country Life, plums in August.
    advice = ask("plum", "fan", date(2026, 1, 15))

    for kind in ("winter_prune", "summer_prune", "head_back"):
        said = verdict(advice, kind)
        assert (said.is_allowed, said.code) == (False, "SILVER_LEAF")


def test_english_plum_in_dry_july_is_pinched_to_six_leaves():
    # RHS, summer pruning trained stone fruit.
    on = date(2026, 7, 5)
    advice = ask("plum", "fan", on, dry_behind_h=48, rain_in_h=72)

    assert verdict(advice, "summer_prune").is_allowed
    assert "6 leaves" in due_now(advice, on, "summer_prune")[0].instruction


def test_minnesota_plum_is_pruned_in_late_february():
    # University of Minnesota Extension, what can I prune right now: plum in late winter.
    advice = ask("plum", "informal", date(2026, 2, 20), MINNESOTA, tmin_ahead_c=-8.0)

    assert verdict(advice, "winter_prune").is_allowed


def test_minnesota_plum_waits_when_deep_cold_is_forecast():
    # gatecitytree.com: stop three to four days before −18 °C (0 °F).
    said = verdict(ask("plum", "informal", date(2026, 2, 20), MINNESOTA, tmin_ahead_c=-20.0), "winter_prune")

    assert (said.is_allowed, said.code) == (False, "COLD")


def test_new_zealand_plum_is_pruned_after_fruiting_in_january():
    # neighbourly.co.nz and tag-challenge.com: after fruiting, in summer.
    assert verdict(ask("plum", "informal", date(2026, 1, 15), NEW_ZEALAND_NORTH), "summer_prune").is_allowed


def test_english_peach_in_december_is_not_shortened():
    # Which? Gardening, peaches and nectarines; allotment-garden.org.
    said = verdict(ask("peach", "fan", date(2026, 12, 10), SOUTHERN_ENGLAND), "winter_prune")

    assert (said.is_allowed, said.code) == (False, "SILVER_LEAF")


def test_picked_peach_is_due_its_renewal_in_august():
    # RHS, fan-trained trees: fruited shoots cut back to their replacement after harvest.
    on = date(2026, 8, 10)
    needs = due_now(ask("peach", "fan", on, SOUTHERN_ENGLAND), on, "renew_wood")

    assert needs
    assert "back to the young shoot at its base" in needs[0].instruction


def test_virginian_peach_is_left_in_january_before_a_cold_spell():
    # Virginia Tech 422-020: not before February, and not within days of predicted cold.
    advice = ask("peach", "informal", date(2026, 1, 20), VIRGINIA, tmin_ahead_c=-12.0, tmin_in_days=3)
    said = verdict(advice, "winter_prune")

    assert (advice.profile, said.is_allowed, said.code) == ("continental_cold", False, "COLD")


def test_virginian_peach_is_left_in_february_before_a_cold_spell():
    said = verdict(
        ask("peach", "informal", date(2026, 3, 10), VIRGINIA, tmin_ahead_c=-12.0, tmin_in_days=3), "winter_prune"
    )

    assert (said.is_allowed, said.code) == (False, "COLD")


def test_virginian_peach_is_pruned_in_mid_march():
    # Virginia Tech 422-020: best near bloom.
    assert verdict(ask("peach", "informal", date(2026, 3, 15), VIRGINIA), "winter_prune").is_allowed


def test_wall_peach_in_may_is_due_its_rubbing_out():
    # yourgardeninginfo.com, pruning established fan trees: keep a basal shoot and the tip.
    on = date(2026, 5, 10)
    need = due_now(ask("peach", "fan", on, SOUTHERN_ENGLAND), on, "rub_out")[0]

    assert "1 new shoot at its base and the one at its tip" in need.instruction


def test_californian_apricot_in_december_is_shut_by_eutypa():
    # UC Master Gardeners Contra Costa and Butte: never in the rainy season.
    said = verdict(ask("apricot", "fan", date(2026, 12, 5), CALIFORNIA), "summer_prune")

    assert (said.is_allowed, said.code) == (False, "EUTYPA")


def test_californian_apricot_is_pruned_after_harvest_in_july():
    # UC Master Gardener, Visalia Times-Delta 17 July 2014: six rain-free weeks must follow.
    advice = ask("apricot", "fan", date(2026, 7, 25), CALIFORNIA, tmax_ahead_c=34.0)

    assert advice.profile == "mediterranean"
    assert verdict(advice, "summer_prune").is_allowed


def test_apricot_waits_in_days_of_forty_degrees():
    # Same source: not while days reach 100 °F again and again.
    said = verdict(ask("apricot", "fan", date(2026, 7, 25), CALIFORNIA, tmax_ahead_c=40.0), "summer_prune")

    assert (said.is_allowed, said.code) == (False, "SUNBURN")


def test_apricot_is_shut_when_less_than_six_dry_weeks_are_left():
    # Same source; first rain usual about 20 October: 30 days on 20 September are too few.
    said = verdict(ask("apricot", "fan", date(2026, 9, 20), CALIFORNIA), "summer_prune")

    assert (said.is_allowed, said.code) == (False, "EUTYPA")


def test_english_sweet_cherry_is_pruned_after_picking():
    # New England Tree Fruit guide and Which? cherry factsheet: dry summer, after harvest.
    assert verdict(ask("sweet_cherry", "fan", date(2026, 7, 15), rain_in_h=48), "summer_prune").is_allowed


def test_cherry_in_a_wet_march_is_shut_by_bacterial_canker():
    # WSU FS366E; Oregon State EM 9007: cool wet weather spreads canker.
    advice = ask("sweet cherry", "fan", date(2026, 3, 8), dry_behind_h=0.0)

    for kind in ("summer_prune", "winter_prune"):
        said = verdict(advice, kind)
        assert (said.is_allowed, said.code) == (False, "BACT_CANKER")


def test_young_cherry_is_shaped_as_its_buds_break():
    # Which? cherry factsheet, June 2012: buds breaking, dry day.
    on = date(2026, 4, 5)
    advice = ask("sweet cherry", "fan", on, planted_on=date(2025, 1, 1), rain_in_h=48)

    assert verdict(advice, "head_back").is_allowed


def test_sour_cherry_is_renewed_in_late_august():
    # RHS, acid cherries, profile 317: after harvest, to a side shoot, new ones 5 to 10 cm apart.
    on = date(2026, 8, 25)
    need = due_now(ask("sour_cherry", "fan", on), on, "renew_wood")[0]

    assert "side shoot" in need.instruction
    assert "5 to 10 cm" in need.instruction


def test_bush_of_sour_cherry_in_january_is_shut():
    # RHS, same profile.
    said = verdict(ask("sour cherry", "informal", date(2026, 1, 10)), "renew_wood")

    assert (said.is_allowed, said.code) == (False, "SILVER_LEAF")


@pytest.mark.parametrize("species", ["plum", "cherry", "sour_cherry", "peach", "nectarine", "apricot", "almond"])
def test_storm_broken_limb_of_stone_fruit_may_be_cleaned_in_december(species):
    # Amateur Gardening 24 November 2018; common practice: smallest clean cut, no paint.
    advice = ask(species, "fan", date(2026, 12, 10), ENGLAND, dry_behind_h=24.0, rain_in_h=48.0)

    assert verdict(advice, "clean_out").is_allowed
    assert not any(verdict.is_allowed for verdict in advice.verdicts if verdict.kind in CUTS)


def test_cold_climate_cherry_with_canker_on_record_waits_for_summer():
    # New England Tree Fruit guide (after harvest) against University of Minnesota (late winter): by the record.
    on = date(2026, 3, 1)
    clean = ask("sweet cherry", "fan", on, MINNESOTA)
    cankered = ask("sweet cherry", "fan", on, MINNESOTA, records=[_canker()])

    assert verdict(clean, "winter_prune").is_allowed
    assert not verdict(cankered, "winter_prune").is_allowed
    assert verdict(cankered, "winter_prune").code in ("BACT_CANKER", "COLD")


def _canker():
    from gardens.training.state import Record

    return Record(on=date(2025, 5, 1), kind="seen", what="disease", text="bacterial canker", key="1")
