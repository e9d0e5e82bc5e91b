"""Currants, canes and wall plants against published advice. Sources stand beside each case."""

from __future__ import annotations

from datetime import date

from tests.reference.asking import MINNESOTA, ask, due_now, verdict


def test_gooseberry_cordon_in_june_is_cut_to_five_leaves():
    # Which? Gardening, gooseberries and currants: side shoots to 5 leaves in June and July.
    on = date(2026, 6, 20)

    assert "5 leaves" in due_now(ask("gooseberry", "oblique_cordon", on), on, "summer_prune")[0].instruction


def test_red_currant_cordon_in_january_is_cut_to_buds():
    # Same source: side shoots to 1 to 3 buds in winter.
    on = date(2026, 1, 5)

    assert "1 to 3 buds" in due_now(ask("red currant", "oblique_cordon", on), on, "winter_prune")[0].instruction


def test_autumn_raspberry_in_february_goes_to_the_ground():
    # February tips after the RHS, thegreenhouses.org.
    on = date(2026, 2, 10)

    assert "off at the ground" in due_now(ask("autumn raspberry", "vine_tiers", on), on, "winter_prune")[0].instruction


def test_summer_raspberry_keeps_its_new_canes():
    # Kansas State hort newsletter and Ohio State HYG-1421: only fruited canes go.
    on = date(2026, 10, 1)
    advice = ask("raspberry", "vine_tiers", on)
    all_canes = verdict(advice, "winter_prune")

    assert (all_canes.is_allowed, all_canes.code) == (False, "FLOWER_LOSS")
    assert verdict(advice, "renew_wood").is_allowed


def test_erect_blackberry_is_not_tipped_before_rain():
    # Ohio State HYG-1431 (tip at 1.2 m); NC State caneberry guide (cane blight enters before rain).
    said = verdict(ask("blackberry", "vine_tiers", date(2026, 6, 25), MINNESOTA, rain_in_h=20.0), "pinch")

    assert (said.is_allowed, said.code) == (False, "CANE_BLIGHT")


def test_erect_blackberry_is_tipped_on_a_dry_day():
    on = date(2026, 6, 25)
    advice = ask("blackberry", "vine_tiers", on, MINNESOTA, rain_in_h=48.0)

    assert verdict(advice, "pinch").is_allowed
    assert "1.2 m" in due_now(advice, on, "pinch")[0].instruction


def test_wisteria_is_cut_to_leaves_in_july_and_buds_in_january():
    # RHS advice quoted at amedpost.com: 5 to 6 leaves in July and August, 2 to 3 buds in January and February.
    july, january = date(2026, 7, 20), date(2026, 1, 25)

    assert "5 or 6 leaves" in due_now(ask("wisteria", "horizontal_tiers", july), july, "summer_prune")[0].instruction
    assert (
        "2 or 3 buds" in due_now(ask("wisteria", "horizontal_tiers", january), january, "winter_prune")[0].instruction
    )


def test_pyracantha_with_a_nest_is_not_touched():
    # Wildlife and Countryside Act 1981 s.1 as told by askthe.police.uk; RSPB.
    advice = ask("pyracantha", "horizontal_tiers", date(2026, 5, 20), has_nest=True)

    for kind in ("winter_prune", "summer_prune", "clear_wall_side", "clean_out"):
        said = verdict(advice, kind)
        assert (said.is_allowed, said.code) == (False, "NEST")
    assert verdict(advice, "inspect").is_allowed


def test_pyracantha_in_bloom_without_nest_keeps_its_trusses():
    # EDP Norfolk 19 March 2019: at bloom, to see what to keep.
    on = date(2026, 5, 20)
    advice = ask("pyracantha", "horizontal_tiers", on, observed={"full_bloom": on})

    assert verdict(advice, "winter_prune").is_allowed
    assert "keep the flower trusses" in due_now(advice, on, "winter_prune")[0].instruction


def test_camellia_in_september_carries_its_buds():
    # After bloom: pruning seasons, 2015; buds set from July: from memory.
    said = verdict(ask("camellia", "informal", date(2026, 9, 1)), "winter_prune")

    assert (said.is_allowed, said.code) == (False, "FLOWER_LOSS")


def test_planting_currants_names_the_state_rules():
    # North Carolina Department of Agriculture text; Legal restrictions on Ribes (docslib.org 13384758).
    from gardens.knowledge import load_knowledge

    law = [c for c in load_knowledge().species["currant_red_white"].cautions if c.topic == "law" and "plant" in c.kinds]

    assert "North Carolina" in law[0].text
