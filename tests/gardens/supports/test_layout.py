"""A support laid out to scale: wires, holds, ends, trees, slopes, dimensions."""

from __future__ import annotations

from math import atan, cos, degrees, sin

import pytest

from business.errors import BadInput
from gardens.knowledge.material_book import materials
from gardens.knowledge.words import FORMS
from gardens.supports import LayoutWish, Post, bill_of_materials, check_support, lay_out_support, layout_of
from tests.gardens.supports.stands import row, wall


def wish(**changes: object) -> LayoutWish:
    facts = {"kind": "wall", "form": "horizontal_tiers", "run_mm": 3600, "height_mm": 2000}
    return LayoutWish(**(facts | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("form", "kind", "height", "heights"),
    [
        # Espalier wires 35 to 45 cm apart (RHS); top wire within reach, 1.83 m (Ohio).
        ("horizontal_tiers", "wall", 2000, (400, 800, 1200, 1600)),
        # One wire at 45 cm (UK nursery guide).
        ("step_over", "post_and_wire", 600, (450,)),
        # Three wires 60 cm apart (RHS cordon advice).
        ("oblique_cordon", "fence", 1800, (400, 1000, 1600)),
        # Every 15 cm from 40 cm up (UK nurseries).
        ("fan", "wall", 1000, (400, 550, 700, 850, 1000)),
        # Wires at 91 cm and 61 to 76 cm above (Hedrick).
        ("vine_tiers", "post_and_wire", 1800, (910, 1600)),
        ("vine_cane_replacement", "post_and_wire", 1800, (900, 1250, 1600)),
    ],
)
def test_wires_lie_where_the_form_wants_them(form, kind, height, heights):
    assert lay_out_support(wish(form=form, kind=kind, height_mm=height)).wire_heights_mm == heights


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", ["wall", "fence", "post_and_wire"])
def test_every_form_can_be_laid_out_on_everything(form, kind):
    layout = lay_out_support(wish(form=form, kind=kind, run_mm=8000, height_mm=2400))
    rule = materials().form(form, kind)

    assert layout.wires
    assert layout.trees
    gaps = [b - a for a, b in zip(layout.wire_heights_mm, layout.wire_heights_mm[1:], strict=False)]
    assert all(rule.spacing_range_mm[0] <= gap <= rule.spacing_range_mm[1] for gap in gaps)
    assert layout.wire_heights_mm[-1] <= 2400


def test_eyes_stand_evenly_and_no_further_than_wished():
    layout = lay_out_support(wish(run_mm=6000))
    xs = sorted({eye.x_mm for eye in layout.eyes})

    assert xs == [0, 1500, 3000, 4500, 6000]
    assert {eye.role for eye in layout.eyes if eye.x_mm in (0, 6000)} == {"end"}
    assert len(layout.eyes) == 5 * len(layout.wires)
    assert not layout.posts


def test_row_has_its_posts_and_stays():
    layout = lay_out_support(wish(kind="post_and_wire", run_mm=20_000, height_mm=1800))
    stay = next(brace for brace in layout.braces if brace.role == "stay")

    assert [post.x_mm for post in layout.posts] == [2500 * number for number in range(9)]
    assert [post.role for post in layout.posts].count("end") == 2
    assert degrees(atan((stay.y1_mm - stay.y2_mm) / (stay.x1_mm - stay.x2_mm))) == pytest.approx(60, abs=0.1)
    assert not layout.eyes


def test_braces_stand_on_the_row_side():
    layout = lay_out_support(wish(kind="post_and_wire", run_mm=20_000, height_mm=1800, end="h_brace"))
    inner = [post for post in layout.posts if post.role == "brace"]

    assert [post.x_mm for post in inner] == [3200, 16_800]
    assert {brace.role for brace in layout.braces} == {"rail", "diagonal"}


def test_trees_stand_half_a_gap_from_the_ends():
    layout = lay_out_support(wish(run_mm=8000, trees=2))

    assert [tree.x_mm for tree in layout.trees] == [2000, 6000]
    assert sum(tree.run_left_mm + tree.run_right_mm for tree in layout.trees) == 8000


@pytest.mark.parametrize("slope", [-25, 8, 20])
def test_parallel_wires_follow_the_slope(slope):
    layout = lay_out_support(wish(kind="post_and_wire", form="fan", run_mm=10_000, slope_percent=slope, height_mm=1800))
    angle = atan(slope / 100)

    for laid in layout.wires:
        assert laid.length_mm == pytest.approx(10_000, abs=2)
        assert laid.points[0] == (0, laid.height_mm)
    assert layout.posts[-1].x_mm == round(10_000 * cos(angle))
    assert layout.posts[-1].ground_y_mm == round(10_000 * sin(angle))
    assert {post.length_mm for post in layout.posts} == {1800 + 750}


def test_stepped_wires_lie_level_in_every_bay():
    layout = lay_out_support(wish(kind="post_and_wire", run_mm=10_000, slope_percent=15, way="stepped", height_mm=1800))
    for laid in layout.wires:
        bays = list(zip(laid.points[::2], laid.points[1::2], strict=True))
        assert len(bays) == 4
        assert all(left[1] == right[1] for left, right in bays)
        assert all(left[1] >= laid.height_mm for left, _ in bays)
    assert any("taller for the steps" in note for note in layout.notes)


def test_level_form_on_a_slope_gets_a_note():
    steep = lay_out_support(wish(kind="post_and_wire", slope_percent=15, height_mm=1800))
    fan = lay_out_support(wish(kind="post_and_wire", form="fan", slope_percent=15, height_mm=1800))

    assert any("lie level" in note for note in steep.notes)
    assert not any("lie level" in note for note in fan.notes)


def test_crowded_plants_get_a_note():
    notes = lay_out_support(wish(run_mm=3600, trees=6)).notes

    assert any("60 cm of run" in note for note in notes)


def test_dimensions_add_up():
    layout = lay_out_support(wish(kind="post_and_wire", run_mm=9000, height_mm=1800, trees=3))
    by = {
        what: [d.length_mm for d in layout.dimensions if d.what == what]
        for what in ("hold_gap", "wire_gap", "tree_gap")
    }

    assert sum(by["hold_gap"]) == 9000
    assert sum(by["wire_gap"]) == layout.wire_heights_mm[-1]
    assert by["tree_gap"] == [3000, 3000]
    assert [d.length_mm for d in layout.dimensions if d.what == "wire"] == list(layout.wire_heights_mm)
    assert {d.what for d in layout.dimensions} >= {"run", "height", "post_depth", "anchor"}


def test_bounds_hold_everything():
    layout = lay_out_support(wish(kind="post_and_wire", run_mm=9000, height_mm=1800, slope_percent=-10))
    left, low, right, high = layout.bounds

    for post in layout.posts:
        assert left <= post.x_mm <= right
        assert low <= post.foot_y_mm
        assert post.top_y_mm <= high


def test_layout_of_a_support_keeps_its_measures():
    for stand in (wall(), row()):
        layout = layout_of(stand)
        assert layout.wire_heights_mm == stand.wire_heights_mm
        assert len(layout.trees) == sum(plant.count for plant in stand.plants)
        assert len({eye.x_mm for eye in layout.eyes} or {post.x_mm for post in layout.posts}) == stand.spans + 1


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"run_mm": 0}, "run: 0 mm is out of range"),
        ({"height_mm": 350, "form": "fan"}, "lower than the first wire at 40 cm"),
        ({"hold_gap_mm": 0}, "hold_gap: 0 mm"),
        ({"faces_deg": 400}, "a bearing of 400°"),
        ({"wire_heights_mm": (800, 400)}, "does not lie above"),
        ({"wire_heights_mm": (400, 2400)}, "above the support"),
        ({"wire_heights_mm": (0, 400)}, "is not above the ground"),
        ({"slope_percent": 90}, "give -60 to 60 %"),
        ({"form": "bonsai"}, "has no rule for its wires"),
        ({"trees": -1}, "give 0 to 2000"),
        ({"end_angle_deg": 89}, "60° is usual"),
    ],
)
def test_wish_that_cannot_be_laid_out_is_refused(changes, words):
    with pytest.raises(BadInput) as refusal:
        lay_out_support(wish(**changes))

    assert words in "\n".join(str(fault) for fault in refusal.value.faults)


def test_all_faults_of_a_wish_come_at_once():
    with pytest.raises(BadInput) as refusal:
        lay_out_support(wish(run_mm=0, height_mm=0, faces_deg=400, slope_percent=99))

    assert len(refusal.value.faults) == 4


def test_fence_that_must_not_be_touched_gets_posts_of_its_own():
    # Common practice: steel posts avoid touching the fence at all.
    steel = Post(kind="steel_tube", size_mm=48, wall_mm=3, length_mm=2700, depth_mm=900)
    stand = row(kind="fence", post=steel)
    layout = layout_of(stand)

    assert len(layout.posts) == stand.spans + 1
    assert not layout.eyes
    assert lay_out_support(wish(kind="fence", own_posts=True)).posts
    assert check_support(stand, with_cures=False).check("fence_ends") is None
    assert bill_of_materials(stand).amount("line_post") == len(layout.posts) - 2
