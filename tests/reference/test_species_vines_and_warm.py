"""Vines, fig and fruit of warm places against published advice. Sources stand beside each case."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.training.state import Record
from tests.reference.asking import CALIFORNIA, MINNESOTA, OREGON, SOUTHERN_ENGLAND, ask, due_now, verdict


def test_english_vine_is_due_its_cut_before_christmas():
    # bestinhorticulture.co.uk 2021 and RHS, Guyot training: late November to December.
    on = date(2026, 12, 12)
    advice = ask("grape", "vine_cane_replacement", on, SOUTHERN_ENGLAND)
    need = due_now(advice, on, "winter_prune")[0]

    assert need.window.best_until <= date(2026, 12, 31)
    assert "2 buds" in need.instruction
    assert "Finish before Christmas" in need.instruction


def test_forgotten_vine_in_march_may_be_cut_with_a_warning():
    # radwaybridgegardencentre.com (sap from January) against The Washington Post 28 January 1977 (little or no harm).
    on = date(2026, 3, 10)
    advice = ask("grape", "vine_cane_replacement", on, SOUTHERN_ENGLAND)
    said = verdict(advice, "winter_prune")

    assert (said.is_allowed, said.code) == (True, "SAP_BLEED")
    assert any("sap" in warning.text for warning in advice.warnings)


def test_frozen_vine_is_not_cut():
    # The Washington Post 28 January 1977: not while frozen.
    said = verdict(
        ask("grape", "vine_rod_and_spur", date(2026, 3, 10), SOUTHERN_ENGLAND, is_frozen=True), "winter_prune"
    )

    assert (said.is_allowed, said.code) == (False, "FROZEN")


def test_vine_with_a_fifth_of_buds_dead_keeps_a_third_more():
    # Purdue, double pruning grapevines: 15 to 35 % dead, keep 35 % more buds.
    on = date(2026, 1, 25)
    dead = Record(on=date(2026, 1, 20), kind="seen", what="note", value=20.0, text="dead_buds_percent", key="1")
    advice = ask("grape", "vine_rod_and_spur", on, MINNESOTA, records=[dead], tmin_ahead_c=-14.0)
    need = due_now(advice, on, "winter_prune")[0]

    assert verdict(advice, "winter_prune").is_allowed
    assert "35% more buds" in need.instruction


def test_dormant_kiwi_in_oregon_is_due_in_january():
    # Oregon State kiwifruit bulletin: late December to late January.
    on = date(2026, 1, 20)

    assert due_now(ask("kiwi", "vine_tiers", on, OREGON), on, "winter_prune")


def test_kiwi_with_flowing_sap_is_left_alone_in_march():
    # Oregon State kiwifruit bulletin: sap rises weeks before growth.
    said = verdict(ask("kiwi", "vine_tiers", date(2026, 3, 10), OREGON), "winter_prune")

    assert (said.is_allowed, said.code) == (False, "SAP_BLEED")


def test_male_kiwi_is_cut_after_bloom_instead_of_in_winter():
    # Evergreen State College practicum: flowered wood of the male out in summer.
    advice = ask("kiwi", "vine_tiers", date(2026, 1, 20), OREGON, cultivar="male")
    rules = {need.rule for need in advice.due}

    assert "kiwifruit/male_prune" in rules
    assert "kiwifruit/winter_prune" not in rules


def test_fig_in_a_frosty_february_waits_for_the_last_hard_frost():
    # RHS, figs: pruning and training; watchmtv.co: late March, after frost.
    on = date(2026, 2, 10)
    advice = ask("fig", "fan", on)
    opens = min(need.window.opens for need in advice.due if need.kind == "winter_prune")

    assert not verdict(advice, "winter_prune").is_allowed
    assert abs((opens - advice.stages["last_frost"].on).days) <= 7


def test_large_green_figs_come_off_in_november_and_small_stay():
    # mybuilder.com and harrodhorticultural.com: clear large unripe figs, leave the pea-sized.
    on = date(2026, 11, 5)
    need = due_now(ask("fig", "fan", on), on, "thin_fruit")[0]

    assert "larger than a pea" in need.instruction
    assert "Leave the pea-sized" in need.instruction


def test_fig_is_pinched_in_june_with_skin_covered():
    # RHS, figs (5 to 6 leaves); BMJ Case Reports 14(1):e238745 (burns by sap and sun).
    on = date(2026, 6, 20)
    advice = ask("fig", "fan", on)

    assert "5 leaves" in due_now(advice, on, "pinch")[0].instruction
    assert any("Long sleeves, gloves" in warning.text for warning in advice.warnings)


def test_mulberry_with_moving_buds_is_left_until_midwinter():
    # Mulberry pruning after the RHS: only fully dormant, December and January.
    advice = ask("mulberry", "informal", date(2026, 4, 1))
    said = verdict(advice, "winter_prune")
    window = next(need.window for need in advice.due if need.kind == "winter_prune")

    assert (said.is_allowed, said.code) == (False, "SAP_BLEED")
    assert (window.opens.month, window.closes.month) == (12, 1)


def test_frosted_citrus_twigs_wait_for_late_spring():
    # habitatgroupla.com; East Bay Times 31 March 2007: wait until growth shows what is dead.
    on = date(2026, 1, 10)
    advice = ask("citrus", "informal", on, CALIFORNIA)
    after = next(need for need in advice.due if need.rule == "citrus/after_freeze")

    assert not verdict(advice, "clean_out").is_allowed
    assert not verdict(advice, "winter_prune").is_allowed
    assert date(2026, 4, 15) <= after.window.best_from <= date(2026, 6, 15)


def test_olive_before_the_rain_is_shut_by_knot():
    # UCCE First Press, spring 2007: not in autumn, rain spreads olive knot.
    said = verdict(ask("olive", "informal", date(2026, 11, 10), CALIFORNIA), "winter_prune")

    assert (said.is_allowed, said.code) == (False, "OLIVE_KNOT")


def test_olive_in_dry_bloom_may_be_pruned():
    # Same source: spring to bloom, with the crop in sight.
    advice = ask("olive", "informal", date(2026, 5, 10), CALIFORNIA, dry_behind_h=72.0, rain_in_h=120.0)

    assert verdict(advice, "winter_prune").is_allowed


@pytest.mark.parametrize("on", [date(2026, 2, 20), date(2026, 3, 1)])
def test_persimmon_is_thinned_late_and_never_shortened(on):
    # UC Master Gardeners Napa, pruning primer 4 December 2020: fruit near the tips of last season's shoots.
    advice = ask("persimmon", "informal", on)

    assert verdict(advice, "winter_prune").is_allowed
    assert verdict(advice, "summer_prune").code == "FLOWER_LOSS"


def test_pomegranate_is_left_in_autumn_and_after_its_buds_swell():
    # biologyinsights.com: late winter, after hard frost.
    assert verdict(ask("pomegranate", "fan", date(2026, 11, 1), CALIFORNIA), "winter_prune").code == "COLD"
    assert verdict(ask("pomegranate", "fan", date(2026, 6, 1), CALIFORNIA), "winter_prune").code == "FLOWER_LOSS"
    assert verdict(ask("pomegranate", "fan", date(2026, 2, 15), CALIFORNIA), "winter_prune").is_allowed
