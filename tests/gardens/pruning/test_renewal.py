"""Renewal decided piece by piece: what bore goes, its replacement is tied in, old wood is flagged."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gardens.knowledge import load_knowledge
from gardens.pruning import SideShoot, SideWood, needs_for_season, renew_after_picking, renew_canes, thin_spur_systems
from tests.gardens.pruning.trees import tree, year_of

SPECIES = load_knowledge().species
PEACH, SOUR_CHERRY, APPLE = SPECIES["peach"], SPECIES["cherry_sour"], SPECIES["apple_spur"]


def lateral(number, born, **more):
    return SideShoot(key=f"lateral:rib:1:left:{number}", parent="rib:1:left", born=born, **more)


def shoot(number, born=2026, length_mm=500):
    return SideShoot(
        key=f"shoot:lateral:rib:1:left:{number}", parent=f"lateral:rib:1:left:{number}", born=born, length_mm=length_mm
    )


@pytest.mark.parametrize("species", [PEACH, SOUR_CHERRY], ids=["peach", "sour cherry"])
def test_lateral_that_bore_is_cut_to_its_replacement(species):
    acts = renew_after_picking(SideWood(shoots=(lateral(1, 2025, fruited=(2026,)), shoot(1))), species, 2026)

    assert [(act.act, act.limb, act.to) for act in acts] == [
        ("cut_to_replacement", "lateral:rib:1:left:1", "shoot:lateral:rib:1:left:1"),
        ("tie_in", "shoot:lateral:rib:1:left:1", "lateral:rib:1:left:1"),
    ]
    assert acts[0].why == "it bore this season"


def test_lateral_without_replacement_is_left_a_stub():
    acts = renew_after_picking(SideWood(shoots=(lateral(1, 2025),)), PEACH, 2026)

    assert (acts[0].act, "2 leaves" in acts[0].instruction) == ("cut_short", True)


def test_shoot_of_this_season_is_kept_for_the_next():
    assert renew_after_picking(SideWood(shoots=(lateral(1, 2026),)), PEACH, 2026)[0].act == "keep"


@pytest.mark.parametrize(("born", "flag"), [(2024, False), (2023, True), (2020, True)])
def test_wood_of_three_years_and_more_is_flagged(born, flag):
    # Fact of the trade (common practice): three-year-old wood of a peach is cut out.
    act = renew_after_picking(SideWood(shoots=(lateral(1, born),)), PEACH, 2026)[0]

    assert (act.act, act.flag) == ("cut_out", flag)


@given(st.lists(st.tuples(st.integers(2018, 2026), st.booleans()), max_size=12))
def test_no_lateral_that_bore_survives_and_no_new_one_goes(rows):
    shoots = []
    for number, (born, replaced) in enumerate(rows):
        shoots.append(lateral(number, born))
        if replaced:
            shoots.append(shoot(number))
    acts = {act.limb: act for act in renew_after_picking(SideWood(shoots=tuple(shoots)), PEACH, 2026)}
    for number, (born, _) in enumerate(rows):
        act = acts[f"lateral:rib:1:left:{number}"]
        assert (act.act == "keep") == (born == 2026)
        assert act.flag == (2026 - born >= 3)


def test_needs_of_a_recorded_fan_name_every_lateral():
    wood = SideWood(shoots=(lateral(1, 2025), shoot(1), lateral(2, 2022), lateral(3, 2026)))
    needs = [
        need
        for need in needs_for_season(tree("peach", "fan"), year_of("peach", "fan"), wood=wood)
        if need.rule == "peach_kind/renew_wood"
    ]

    assert [need.limb for need in needs] == ["rib:1:left"]
    assert "Cut lateral:rib:1:left:1 back to shoot:lateral:rib:1:left:1." in needs[0].instruction
    assert "It is 4 years old" in needs[0].instruction
    assert "lateral:rib:1:left:3" not in needs[0].instruction


def test_fan_without_records_gets_the_general_instruction():
    needs = needs_for_season(tree("peach", "fan"), year_of("peach", "fan"))

    assert [need.limb for need in needs if need.rule == "peach_kind/renew_wood"] == ["whole"]


@pytest.mark.parametrize(("count", "act"), [(16, "keep"), (19, "keep"), (24, "thin")])
def test_counted_spurs_are_thinned_only_where_crowded(count, act):
    # 200 cm of arm at one system in 12.5 cm carry 16; a fifth more is let be.
    acts = thin_spur_systems(tree(), SideWood(spur_counts=(("arm:1:left", count, date(2026, 1, 10)),)), APPLE)

    assert acts[0].act == act


def test_crowded_spurs_bring_their_thinning_forward():
    wood = SideWood(spur_counts=(("arm:1:left", 30, date(2026, 1, 10)),))
    young = tree(planted=date(2019, 1, 15))  # eighth season: not its turn
    without = {need.kind for need in needs_for_season(young, year_of())}
    needs = [need for need in needs_for_season(young, year_of(), wood=wood) if need.kind == "thin_spurs"]

    assert "thin_spurs" not in without
    assert [(need.limb, "Leave 16 of the 30" in need.instruction) for need in needs] == [("arm:1:left", True)]


def test_counted_spurs_with_room_ask_for_no_thinning():
    wood = SideWood(spur_counts=(("arm:1:left", 12, date(2026, 1, 10)),))
    kinds = {need.kind for need in needs_for_season(tree(planted=date(2020, 1, 15)), year_of(), wood=wood)}

    assert "thin_spurs" not in kinds


def test_canes_that_bore_go_and_new_ones_come_in():
    canes = tuple(
        SideShoot(key=f"cane:{number}", parent="whole", born=born) for number, born in ((1, 2025), (2, 2026), (3, 2023))
    )
    acts = {act.limb: act for act in renew_canes(SideWood(shoots=canes), SPECIES["raspberry_summer"], 2026)}

    assert (acts["cane:1"].act, acts["cane:2"].act) == ("cut_out", "tie_in")
    assert acts["cane:3"].flag
