"""The verdict of each part, and what brings it up or down."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gardens.supports import Anchor, End, Fixing, Plant, Post, check_support, plant_load, wire
from gardens.supports.judging import Asked, judge, used_share
from gardens.supports.values import VERDICT_WORDS, worst
from tests.gardens.supports.stands import espalier, place, row, there, wall


def asked(demand: float, limit: float, **more: object) -> Asked:
    facts = {"rule": "r", "part": "p", "question": "q", "unit": "N", "formula": "f", "source": "common practice"}
    return Asked(demand=demand, limit=limit, **(facts | more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("demand", "more", "verdict"),
    [
        (80, {}, "fine"),
        (80.1, {}, "near_its_limit"),
        (100, {}, "near_its_limit"),
        (100.1, {}, "not_enough"),
        (10, {"assumed": ("brick",)}, "not_proved"),
        (101, {"assumed": ("brick",)}, "not_enough"),
        (101, {"is_advice": True}, "near_its_limit"),
        (99, {"is_advice": True}, "fine"),
        (1, {"at_best": "near_its_limit"}, "near_its_limit"),
        (126, {"is_floor": True}, "fine"),
        (99, {"is_floor": True}, "not_enough"),
        (0, {"is_floor": True}, "not_enough"),
    ],
)
def test_verdict_follows_the_share_of_the_limit(demand, more, verdict):
    assert judge(asked(demand, 100, **more)).verdict == verdict


def test_worst_part_gives_the_verdict_of_the_whole():
    assert worst(("fine", "not_proved", "near_its_limit")) == "not_proved"
    assert worst(tuple(VERDICT_WORDS)) == "not_enough"
    assert worst(()) == "fine"
    assert used_share(0, 0, is_floor=False) == 0


def test_sound_wall_is_called_fine_or_near_its_limit():
    report = check_support(wall())

    assert report.verdict in ("fine", "near_its_limit")
    assert not report.ask
    assert report.part("end_anchor_lasting").verdict == "fine"


def test_sound_row_is_called_fine():
    assert check_support(row()).verdict == "fine"


def test_every_part_tells_number_limit_formula_and_source():
    for support in (wall(), row(), wall(kind="fence")):
        for check in check_support(support, with_cures=False).checks:
            assert check.question.endswith(("?", "."))
            assert check.formula
            assert check.source
            assert check.limit >= 0


def test_untested_anchor_proves_nothing_until_it_is_pulled():
    untested = Fixing(kind="vine_eye", diameter_mm=8)
    before = check_support(wall(fixing=untested)).part("eye_anchor")
    after = check_support(wall(fixing=replace(untested, tested_n=300))).part("eye_anchor")

    assert before.verdict == "not_proved"
    assert "Pull-test" in before.cure
    assert before.assumed
    assert after.verdict == "fine"


@pytest.mark.parametrize("masonry", ["mortar_joint", "soft_or_old", "hollow", "rendered"])
def test_doubtful_wall_holds_little_and_asks_for_advice(masonry):
    report = check_support(wall(wall=masonry, end_fixing=Fixing(kind="returned", diameter_mm=8, anchor="resin_stud")))

    assert report.part("end_anchor_lasting").verdict == "not_enough"
    assert any("the wall is in doubt" in reason for reason in report.ask)
    assert any("qualified person" in caution for caution in report.cautions)


def test_thin_eye_on_a_wide_gap_cannot_hold_a_wire_end():
    report = check_support(wall(gap_mm=100, end_fixing=Fixing(kind="vine_eye", diameter_mm=6, tested_n=5000)))
    check = report.part("end_shank_lasting")

    assert check.verdict == "not_enough"
    assert "bolts" in check.cure or "face of the wall" in check.cure


def test_vine_hangs_on_its_wire_for_good_and_a_tree_does_not():
    young, old = plant_load(espalier(age_years=2)), plant_load(espalier(age_years=12))
    vine = Plant(species="grape", form="vine_tiers", width_mm=2000, bottom_mm=500, top_mm=1800, age_years=30)

    assert (young.share, old.share, plant_load(vine).share) == (1.0, 0.5, 1.0)
    assert "woody" in old.why
    assert "never carries itself" in plant_load(vine).why


def test_crop_of_a_vine_hangs_on_its_lowest_wire():
    vine = Plant(species="grape", form="vine_cane_replacement", width_mm=1200, bottom_mm=700, top_mm=1800, count=10)
    wires = check_support(row(plants=(vine,)), with_cures=False).wires

    assert wires[0].load.crop_n_m > 0
    assert [wire.load.crop_n_m for wire in wires[1:]] == [0, 0, 0]
    assert len({round(wire.load.green_n_m, 6) for wire in wires}) == 1


def test_more_tiers_bring_more_crop():
    two, four = plant_load(espalier(crop_kg=None, tiers=2)), plant_load(espalier(crop_kg=None, tiers=4))

    # Handbook: 9 to 11 kg on two tiers, about 3 more for each further one.
    assert (two.crop_kg, four.crop_kg) == (11, 17)
    assert four.is_assumed
    assert not plant_load(espalier()).is_assumed


def test_soft_wire_under_a_hand_is_said_to_stretch():
    check = check_support(wall()).part("wire_accident")

    assert check.verdict == "near_its_limit"
    assert "would stretch" in check.notes[0]
    assert "tighten it again" in check.cure


def test_wire_above_reach_is_not_leant_on():
    report = check_support(wall(wire_heights_mm=(1700, 2100)), with_cures=False)

    assert report.check("wire_accident") is None


def test_slack_in_heat_is_told_before_it_comes():
    check = check_support(place(wall(), warmest_c=40)).part("wire_warm")

    assert check.verdict == "near_its_limit"
    assert "slack in heat" in check.notes[0]
    assert "spring" in check.cure


def test_netting_catches_more_wind_than_leaf():
    leaf = check_support(row(), with_cures=False).part("post_bending")
    netted = check_support(place(row(), cover="netting"), with_cures=False).part("post_bending")

    assert netted.demand > 2.5 * leaf.demand


def test_ice_is_a_load_of_its_own():
    plain = check_support(row(), with_cures=False).wires[0]
    iced = check_support(place(row(), ice_mm=10), with_cures=False).wires[0]

    assert plain.case("ice") is None
    assert iced.under("ice").load_n_m == pytest.approx(plain.load.own_n_m + 0.353 * 9.80665, abs=0.01)
    assert iced.under("ice").warmer_c == -15


def test_post_where_people_pass_must_stand_as_deep_as_code_asks():
    shallow = row(post=Post(size_mm=100, length_mm=2550, depth_mm=750))
    alone = check_support(shallow).part("post_code_depth")
    passed = check_support(place(shallow, people_pass=True))

    assert alone.verdict == "near_its_limit"
    assert passed.part("post_code_depth").verdict == "not_enough"
    assert "it stands free where people pass" in passed.ask


def test_made_ground_holds_nothing_that_can_be_reckoned():
    report = check_support(place(row(), soil="fill"))

    assert report.part("post_ground").verdict == "not_enough"
    assert report.part("end_uplift").verdict == "not_enough"
    assert any("the ground is in doubt" in reason for reason in report.ask)


def test_unknown_ground_leaves_the_post_unproved():
    check = check_support(place(row(), soil="unknown")).part("post_ground")

    assert check.verdict == "not_proved"
    assert "trial hole" in check.cure


def test_post_alone_cannot_hold_four_wires():
    report = check_support(row(end=End(kind="bare", post=Post(size_mm=100, length_mm=2700, depth_mm=900))))
    check = report.part("end_post_bending")

    assert check.verdict == "not_enough"
    assert "Stay the end posts back" in check.cure


def test_rolled_post_may_not_stand_at_the_end():
    steel = Post(kind="steel_t", size_mm=35, length_mm=2134, depth_mm=450)
    report = check_support(row(end=End(post=steel, height_mm=1500)))

    assert report.part("end_post_kind").verdict == "not_enough"
    assert report.part("end_post_bending").verdict == "not_proved"


def test_pulled_anchor_counts_with_its_own_figure():
    tested = row(end=replace(there(row().end), anchor=Anchor(tested_n=9000)))
    check = check_support(tested).part("end_uplift")

    assert check.limit == 4500
    assert not check.assumed


def test_fence_not_built_for_it_is_told_so():
    check = check_support(wall(kind="fence", wall=None)).part("fence_ends")

    assert check.verdict == "not_enough"
    assert "do not touch it" in check.cure


def test_metals_that_spoil_each_other_are_named():
    plated = Fixing(kind="screw_eye", anchor="wood", thread_mm=50, metal="electroplated")
    fence = check_support(wall(kind="fence", wall=None, fixing=plated, end_fixing=plated))
    thin = check_support(row(wire=wire(2.5, grade="high_tensile", coating="class_1")))

    assert fence.part("metals_plated_on_preserved_timber").verdict == "not_enough"
    assert thin.part("metals_zinc_wire_on_preserved_timber").verdict == "near_its_limit"
    assert check_support(row()).check("metals_zinc_wire_on_preserved_timber") is None


def test_low_first_wire_gets_the_warning_about_splash():
    check = check_support(wall(wire_heights_mm=(300, 700, 1100, 1500))).part("form_splash")

    assert check.verdict == "near_its_limit"
    assert "40 cm" in check.cure


def test_sentences_come_in_inches_where_wanted():
    check = check_support(wall(wire_heights_mm=(300, 700, 1100, 1500)), units="imperial").part("form_splash")

    assert "15½ in" in check.cure


def test_high_support_and_hard_pull_go_to_a_qualified_person():
    report = check_support(row(height_mm=2600, tension_n=1800.0), with_cures=False)

    assert any("2.60 m high" in reason for reason in report.ask)
    assert any("kN on each end" in reason for reason in report.ask)


def test_cautions_fit_the_work():
    on_wall, in_row = check_support(wall()).cautions, check_support(row()).cautions

    assert any("detector before drilling" in text for text in on_wall)
    assert any("buried pipes" in text for text in in_row)
    assert any("catches the wind like a fence" in text for text in in_row)
    for texts in (on_wall, in_row):
        assert any("eye protection" in text for text in texts)
        assert any("replaces local building rules or a qualified structural person" in text for text in texts)


def test_cure_really_cures():
    """Each named change is proved by asking again: the first one of a failing row is applied here by hand."""
    weak = row(post=Post(size_mm=75, length_mm=2550, depth_mm=600))
    check = check_support(weak).part("post_ground")
    assert check.verdict == "not_enough"
    deeper = next(part for part in check.cure.split("; or ") if "deep" in part)
    depth_mm = int(float(deeper.split()[-3]) * 10) if "cm" in deeper else 0
    cured = replace(weak, post=replace(there(weak.post), depth_mm=depth_mm, length_mm=1950 + depth_mm))

    assert check_support(cured).part("post_ground").verdict != "not_enough"


def test_fine_parts_need_no_cure():
    for support in (wall(), row()):
        assert all(not check.cure for check in check_support(support).checks if check.verdict == "fine")


def test_no_failing_part_is_left_without_a_word():
    weak = row(post=Post(size_mm=75, length_mm=2300, depth_mm=400), tension_n=1500.0, wire=wire(1.6), joint="hand_wrap")

    assert all(check.cure for check in check_support(weak).checks if check.verdict != "fine")
