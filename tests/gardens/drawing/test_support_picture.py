"""A whole support with its trees, the layout with dimensions, one tree over the years."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from statistics import linear_regression

import pytest

from gardens.drawing import (
    Mark,
    Options,
    SupportPicture,
    TreeInRow,
    draw_layout,
    draw_strip,
    draw_support,
    draw_tree,
    expected_state,
)
from gardens.supports import LayoutWish, lay_out_support
from gardens.training.state import Forecast

from .reading import SVG, description_of, root_of, shapes_of, sheet_of, texts_of, title_of
from .test_tree_picture import outside
from .trees import tree

WALL = SupportPicture(
    kind="wall", run_mm=13500, height_mm=2300, wire_heights_mm=(450, 850, 1250, 1650),
    post_positions_mm=(100, 4500, 9000, 13400), aspect="faces SW", label="South wall",
)  # fmt: skip
ROW = SupportPicture(
    run_mm=6000, height_mm=1950, wire_heights_mm=(600, 1200, 1800), post_positions_mm=(0, 3000, 6000),
    post_depth_mm=600, aspect="faces S",
)  # fmt: skip
TREES = (
    TreeInRow(state=tree("horizontal_tiers", "half"), x_mm=2200, label="1 Apple"),
    TreeInRow(state=tree("fan", "full"), x_mm=6500, label="2 Peach"),
    TreeInRow(state=tree("horizontal_tiers", "full"), x_mm=11100, label="3 Pear"),
)
CORDONS = tuple(TreeInRow(state=tree("oblique_cordon", "half"), x_mm=500 + 750 * i, label=str(i + 1)) for i in range(7))
FORECAST = Forecast(
    full_p10=2028, full_p50=2029, full_p90=2032,
    tiers=((1, 2022, 2022, 2022), (2, 2023, 2023, 2024), (3, 2025, 2025, 2026), (4, 2026, 2026, 2027)),
)  # fmt: skip


@pytest.mark.parametrize("season", ["dormant", "in_leaf"])
@pytest.mark.parametrize("support", [WALL, replace(WALL, kind="fence"), replace(WALL, kind="post_and_wire")])
def test_support_and_trees_stay_inside_the_sheet(support, season):
    assert outside(draw_support(support, TREES, Options(season=season, with_fruit=True))) == []


def test_trees_stand_at_their_places_to_scale():
    svg = draw_support(WALL, TREES)
    scale = int(next(text for text in texts_of(svg) if "scale" in text).rpartition(":")[2])
    xs = []
    for group in root_of(svg).iter(f"{SVG}g"):
        if group.get("data-limb") == "trunk" and group.get("id"):
            shapes = [p for p in group.iter(f"{SVG}path") if p.get("class") == "wood"]
            picture = (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"><path d="{shapes[-1].get("d")}"/></svg>'
            )
            box = shapes_of(picture)[0].box
            xs.append((box.left + box.right) / 2)
    assert len(xs) == 3
    assert xs[1] - xs[0] == pytest.approx((6500 - 2200) / scale, abs=0.4)
    assert xs[2] - xs[1] == pytest.approx((11100 - 6500) / scale, abs=0.4)


def test_labels_stand_under_their_trees():
    svg = draw_support(WALL, TREES)
    labels = [s for s in shapes_of(svg) if "label" in s.classes]
    assert [s.words for s in labels] == ["1 Apple", "2 Peach", "3 Pear"]
    ground = max(s.box.top for s in shapes_of(svg) if "wire" in s.classes)
    assert all(s.box.top > ground for s in labels)


def test_crowded_labels_never_overlap():
    many = tuple(replace(t, x_mm=400 + 300 * i, label=f"{i} Old apple") for i, t in enumerate(CORDONS * 2))
    svg = draw_support(ROW, many, Options(width_mm=120))
    boxes = [s.box for s in shapes_of(svg) if "label" in s.classes]
    assert len(boxes) >= 3
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_row_names_its_trees_in_words():
    svg = draw_support(WALL, TREES)
    assert title_of(svg) == "South wall, 3 trees"
    assert "2: 2 Peach, Fan, full." in description_of(svg)


def test_limb_ids_differ_between_trees_of_a_row():
    ids = [g.get("id") for g in root_of(draw_support(WALL, TREES)).iter(f"{SVG}g") if g.get("id")]
    assert len(ids) == len(set(ids))
    assert any(name.startswith("picture-3-limb-arm-4-left") for name in ids)


@pytest.mark.parametrize("kind", ["wall", "fence", "post_and_wire"])
def test_kinds_of_support_look_different(kind):
    others = {"wall", "fence", "post_and_wire"} - {kind}
    this = draw_support(replace(WALL, kind=kind))
    assert all(this != draw_support(replace(WALL, kind=other)) for other in others)


def test_support_without_size_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        SupportPicture(run_mm=0, height_mm=100)


def test_support_alone_is_drawn():
    svg = draw_support(SupportPicture(run_mm=2000, height_mm=1200))
    assert outside(svg) == []
    assert "faces SW" in texts_of(draw_support(WALL))


def test_marks_of_the_support_sit_on_wire_and_post():
    todo = [
        Mark(number=1, kind="tighten_wires", limb="wire:2"),
        Mark(number=2, kind="straighten_posts", limb="post:3"),
        Mark(number=3, kind="inspect", limb="wire:1", label="slack"),
    ]
    svg = draw_support(ROW, CORDONS, Options(), todo)
    assert outside(svg) == []
    wires = sorted({y for s in shapes_of(svg) if "wire" in s.classes for _, y in s.points})
    squares = [s for s in shapes_of(svg) if s.tag == "rect" and s.stroke_width == 0.3]
    assert len(squares) == 3
    wedges = [s for s in shapes_of(svg) if s.attributes.get("fill") == "#0A5C9E" and len(s.points) == 3]
    assert any(abs((s.box.top + s.box.bottom) / 2 - wires[1]) < 0.05 for s in wedges)
    assert "1: Tighten the wire, wire 2." in description_of(svg)
    assert "slack" in texts_of(svg)


def laid(**changes):
    facts = {
        "kind": "post_and_wire", "form": "oblique_cordon", "run_mm": 6000, "height_mm": 1950,
        "wire_heights_mm": (600, 1200, 1800), "hold_gap_mm": 3000, "post_depth_mm": 600, "end": "bare", "trees": 0,
    }  # fmt: skip
    return lay_out_support(LayoutWish(**(facts | changes)))


def test_layout_writes_every_dimension():
    svg = draw_layout(laid(), CORDONS)
    words = texts_of(svg)
    assert outside(svg) == []
    assert words.count("60 cm") == 5  # three gaps, the height of the lowest wire, the depth of the posts
    assert words.count("120 cm") == words.count("180 cm") == 1
    assert words.count("3.00 m") == 2
    assert words.count("6.00 m") == 1
    assert words.count("75 cm") == 6
    assert "195 cm" in words
    assert "Posts 60 cm in the ground." in description_of(svg)


def test_equal_distances_too_small_for_words_are_named_once():
    svg = draw_layout(laid(run_mm=12000, hold_gap_mm=12000), [
        TreeInRow(state=tree("upright_cordon", "young"), x_mm=400 * i) for i in range(1, 29)
    ], Options(width_mm=120))  # fmt: skip
    assert "29 × 40 cm" in texts_of(svg) or "28 × 40 cm" in texts_of(svg)
    assert outside(svg) == []


def test_layout_speaks_imperial():
    assert "19 ft 8 in" in texts_of(draw_layout(laid(), (), Options(units="imperial")))


def points_of(shape):
    numbers = [float(part) for part in re.findall(r"-?[0-9.]+", shape.attributes["d"])]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_posts_stand_plumb_and_wires_follow_the_slope():
    svg = draw_layout(laid(slope_percent=12), (), Options(width_px=900))
    posts = [points_of(shape) for shape in shapes_of(svg) if "post" in shape.classes]
    (wires,) = [points_of(shape) for shape in shapes_of(svg) if "wire" in shape.classes]

    assert len(posts) == 3
    for post in posts:
        assert post[0][0] == pytest.approx(post[1][0])
    for (x1, y1), (x2, y2) in zip(wires[::2], wires[1::2], strict=True):
        assert (y1 - y2) / (x2 - x1) == pytest.approx(0.12, abs=0.002)
    assert outside(svg) == []
    assert any("rises 12 % to the right" in text for text in texts_of(svg))
    assert "posts stand plumb, wires follow the ground" in description_of(svg)


def test_trunks_stay_plumb_and_arms_follow_the_slope():
    one = [TreeInRow(state=tree("horizontal_tiers", "full"), x_mm=3000)]

    def lean(rise: float) -> float:
        """How much the wood as a whole rises to the right: least squares through the middles of its pieces."""
        wood = [s for s in shapes_of(draw_layout(laid(slope_percent=rise), one)) if "wood" in s.classes]
        middles = [((s.box.left + s.box.right) / 2, (s.box.top + s.box.bottom) / 2) for s in wood]
        return -linear_regression(*zip(*middles, strict=True)).slope

    # Level arms lie level on even ground; on a slope of 15 % they rise by 15 % with their wires.
    assert lean(0) == pytest.approx(0, abs=0.02)
    assert lean(15) == pytest.approx(0.15, abs=0.02)


def test_eyes_at_the_ends_differ_from_those_between():
    svg = draw_layout(laid(kind="wall", form="horizontal_tiers", hold_gap_mm=2000, end="tie_back"))
    eyes = [shape for shape in shapes_of(svg) if "eye" in shape.classes]

    assert len(eyes) == 12
    ends = {shape.attributes["r"] for shape in eyes if "end" in shape.classes}
    middles = {shape.attributes["r"] for shape in eyes if "middle" in shape.classes}
    assert ends.isdisjoint(middles)
    assert "Eyes at 0 cm, 200 cm" in description_of(svg) or "Eyes at 0 mm, 2.00 m" in description_of(svg)


@pytest.mark.parametrize("end", ["tie_back", "h_brace", "strut", "bare"])
@pytest.mark.parametrize("slope", [-25, 0, 25])
def test_every_end_is_drawn_inside_the_sheet(end, slope):
    svg = draw_layout(laid(end=end, slope_percent=slope, run_mm=9000), (), Options(width_px=700))

    assert outside(svg) == []
    assert bool([shape for shape in shapes_of(svg) if "brace" in shape.classes]) is (end != "bare")


def test_strip_shows_past_solid_and_future_dotted():
    past = [tree("horizontal_tiers", "young"), tree("horizontal_tiers", "half")]
    svg = draw_strip(past, FORECAST)
    assert outside(svg) == []
    captions = [text for text in texts_of(svg) if text[:2] == "20"]
    assert captions == ["2022", "2024", "2026 expected", "2027 expected", "2029 full"]
    dotted = [s for s in shapes_of(svg) if s.attributes.get("stroke-dasharray", "").startswith("0.01")]
    assert dotted
    assert all(s.attributes["stroke-linecap"] == "round" for s in dotted)
    assert any("wood" in s.classes for s in shapes_of(svg))
    assert "Eight in ten are full between 2028 and 2032." in description_of(svg)


def test_strip_of_a_full_tree_looks_back_only():
    past = [tree("fan", age) for age in ("young", "half", "full")]
    assert [t for t in texts_of(draw_strip(past, FORECAST)) if "expected" in t] == []


def test_strip_needs_a_tree():
    with pytest.raises(ValueError, match="at least one state"):
        draw_strip([])


def test_strip_puts_years_in_their_order():
    past = [tree("fan", age) for age in ("full", "young", "half")]
    assert [t for t in texts_of(draw_strip(past)) if t.startswith("20")] == ["2022", "2024", "2028"]


def test_expected_tree_grows_year_by_year_to_full():
    last = tree("horizontal_tiers", "half")
    lengths = []
    for year in range(last.on.year, 2030):
        state = expected_state(last, FORECAST, year)
        lengths.append(sum(limb.length_mm for limb in state.limbs if limb.kind == "arm"))
        assert all(limb.length_mm <= max(limb.wanted_mm, 1) for limb in state.limbs if limb.kind == "arm")
    assert lengths == sorted(lengths)
    full = expected_state(last, FORECAST, 2029)
    assert all(limb.length_mm == limb.wanted_mm for limb in full.limbs if limb.kind == "arm")
    third = expected_state(last, FORECAST, 2024)
    assert all(limb.length_mm == 0 for limb in third.limbs if limb.tier == 3)


def test_expected_tree_of_a_leap_day_is_drawn():
    last = replace(tree("horizontal_tiers", "half"), on=date(2024, 2, 29))
    assert expected_state(last, FORECAST, 2027).on.year == 2027


def test_one_support_carries_a_single_tree_at_its_place():
    support = replace(ROW, trunk_x_mm=1000)
    svg = draw_tree(tree("oblique_cordon", "full"), (), support, Options(width_mm=180))
    posts = [s for s in shapes_of(svg) if s.tag == "path" and len(s.points) == 5 and s.attributes["fill"] == "#FFFFFF"]
    assert posts
    assert sheet_of(svg).width == 180


def test_a_wall_that_goes_on_shows_no_end():
    """A single tree's window on a long wall: the wall runs out of it on both sides."""
    state = tree("horizontal_tiers", "full")
    long_wall = draw_tree(state, (), replace(WALL, trunk_x_mm=6500))
    own_wall = draw_tree(state, (), SupportPicture.for_tree(state.facts, kind="wall"))

    def uprights(svg: str) -> int:
        lines = next(
            s for s in shapes_of(svg) if "support" in s.classes or s.attributes.get("stroke-linecap") == "square"
        )
        pairs = list(zip(lines.points[::2], lines.points[1::2], strict=True))
        return sum(abs(a[0] - b[0]) < 0.01 for a, b in pairs)

    assert uprights(long_wall) == 0
    assert uprights(own_wall) == 4
