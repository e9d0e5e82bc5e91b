"""The picture of one tree: sound SVG, all of it inside its sheet, true to scale, the same every time."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

import pytest

from gardens.drawing import Mark, Options, SupportPicture, draw_tree
from gardens.drawing.style import LEAST_STROKE

from .reading import SVG, description_of, limb_group, path_points, root_of, shapes_of, sheet_of, texts_of, title_of
from .trees import AGES, TREES, tree

SEASONS = ("dormant", "in_leaf")
EVERY = [(form, age, season) for form in TREES for age in AGES for season in SEASONS]
LARGE = Options(with_fruit=True)


def outside(svg: str) -> list[str]:
    sheet = sheet_of(svg).grown(0.02)
    return [
        f"{shape.tag} {shape.classes} {shape.words} {shape.box}"
        for shape in shapes_of(svg)
        if "clip-path" not in shape.attributes and "reach" not in shape.classes and not sheet.contains(shape.box)
    ]


@lru_cache(maxsize=200)
def picture(form: str, age: str, season: str) -> str:
    return draw_tree(tree(form, age), (), None, replace(LARGE, season=season, id_prefix="page"))


@pytest.mark.parametrize(("form", "age", "season"), EVERY)
def test_everything_lies_inside_the_sheet(form, age, season):
    svg = picture(form, age, season)
    assert outside(svg) == []


@pytest.mark.parametrize("form", TREES)
@pytest.mark.parametrize("season", SEASONS)
def test_small_pictures_stay_inside_their_sheet(form, season):
    svg = draw_tree(tree(form, "full"), (), None, Options(width_px=96, max_height_mm=25, compact=True, season=season))
    assert outside(svg) == []


@pytest.mark.parametrize(("form", "age", "season"), EVERY)
def test_every_limb_has_a_named_group(form, age, season):
    state = tree(form, age)
    svg = picture(form, age, season)
    for limb in state.limbs:
        if limb.length_mm or limb.wanted_mm:
            group = limb_group(svg, limb.key)
            assert group is not None, limb.key
            assert group.attrib["id"].startswith("page-limb-")


@pytest.mark.parametrize(("form", "age", "season"), EVERY)
def test_no_stroke_is_thinner_than_the_least(form, age, season):
    svg = picture(form, age, season)
    widths = {shape.stroke_width for shape in shapes_of(svg) if shape.attributes.get("stroke", "none") != "none"}
    assert min(widths) >= LEAST_STROKE
    for kind in ("wire", "support"):
        assert all(s.stroke_width >= 0.35 for s in shapes_of(svg) if kind in s.classes)


@pytest.mark.parametrize("form", TREES)
def test_ids_are_unique_and_prefixed(form):
    one = draw_tree(tree(form, "half"), (), None, Options(id_prefix="one", crop_to="trunk"))
    two = draw_tree(tree(form, "half"), (), None, Options(id_prefix="two"))
    ids = re.findall(r' id="([^"]+)"', one + two)
    assert len(ids) == len(set(ids))
    assert all(name.startswith(("one-", "two-")) for name in ids)


@pytest.mark.parametrize("form", TREES)
def test_same_tree_gives_same_picture(form):
    options = Options(season="in_leaf", with_fruit=True)
    assert draw_tree(tree(form, "half"), (), None, options) == draw_tree(tree(form, "half"), (), None, options)


@pytest.mark.parametrize("form", TREES)
def test_nothing_a_content_policy_refuses(form):
    svg = draw_tree(tree(form, "half"), (), None, Options(crop_to="trunk", tappable=True))
    root = root_of(svg)
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "g", "defs", "clipPath", "rect", "circle", "path", "text",
        }  # fmt: skip
        for name, value in element.attrib.items():
            assert name not in ("style", "transform", "href")
            assert not name.startswith("on")
            assert "url(" not in value or re.fullmatch(r"url\(#[\w-]+\)", value)


def test_title_and_description_come_first_and_are_named():
    state = tree("horizontal_tiers", "half")
    marks = [Mark(number=1, kind="head_back", limb="leader", at_mm=1300, label="130 cm")]
    svg = draw_tree(state, marks, None, Options(id_prefix="t7"))
    root = root_of(svg)
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == "t7-title t7-desc"
    assert len(title_of(svg)) <= 60
    assert "one of four tiers set" in title_of(svg)
    assert "Wires at 45 cm, 85 cm, 125 cm, 165 cm." in description_of(svg)
    assert "1: Shorten here, leader, 130 cm." in description_of(svg)


def test_long_title_is_cut_to_sixty_characters():
    svg = draw_tree(tree("fan", "full"), (), None, Options(title="A very long name " * 10))
    assert len(title_of(svg)) <= 60
    assert title_of(svg).endswith("…")


def test_small_picture_is_hidden_from_screen_readers():
    root = root_of(draw_tree(tree("fan", "full"), (), None, Options(compact=True, width_px=120, max_height_mm=30)))
    assert root.attrib["aria-hidden"] == "true"
    assert "role" not in root.attrib
    assert texts_of(draw_tree(tree("fan", "full"), (), None, Options(compact=True))) == []


def test_words_of_users_are_escaped():
    nasty = '<script>alert("1")</script> & \x00\x1b ]]>'
    support = SupportPicture(run_mm=4200, height_mm=1800, wire_heights_mm=(450,), aspect=nasty, trunk_x_mm=2100)
    mark = Mark(number=1, kind="tie_in", limb=nasty, label=nasty)
    svg = draw_tree(tree("horizontal_tiers", "half"), [mark], support, Options(title=nasty, id_prefix="x"))
    assert "<script" not in svg
    assert any("<script>" in text for text in texts_of(svg))
    assert "\x00" not in svg


def test_paper_scale_is_round_and_the_bar_is_a_metre():
    svg = draw_tree(tree("horizontal_tiers", "full"), (), None, Options(width_mm=180))
    words = next(text for text in texts_of(svg) if "scale" in text)
    scale = int(words.rpartition(":")[2])
    assert scale in (10, 15, 20, 25, 30, 40, 50)
    bars = [s for s in shapes_of(svg) if s.tag == "path" and s.attributes.get("fill") in ("#171C19", "#FFFFFF")]
    halves = [s for s in bars if abs((s.points[1][0] - s.points[0][0]) - 500 / scale) < 0.02 and len(s.points) == 4]
    assert len(halves) == 2


def test_lengths_are_true_to_scale():
    """The tip of a set arm lies its length from the trunk's line and on its wire (sway under half a millimetre)."""
    svg = draw_tree(tree("horizontal_tiers", "full"), (), None, Options(width_mm=180))
    scale = int(next(text for text in texts_of(svg) if "scale" in text).rpartition(":")[2])
    trunk = wood_points(svg, "trunk")
    middle = (max(x for x, _ in trunk) + min(x for x, _ in trunk)) / 2
    ground = max(y for _, y in trunk)
    for tier, height in enumerate((450, 850, 1250, 1650), 1):
        arm = wood_points(svg, f"arm:{tier}:right")
        assert max(x for x, _ in arm) - middle == pytest.approx(2100 / scale, abs=0.9)
        tip = max(arm)
        assert ground - tip[1] == pytest.approx(height / scale, abs=0.6)


def wood_points(svg: str, key: str) -> list[tuple[float, float]]:
    """The outline of a limb: the one closed figure among its wood that is a single piece."""
    group = limb_group(svg, key)
    assert group is not None
    pieces = [p.attrib["d"] for p in group.iter(f"{SVG}path") if p.get("class") == "wood"]
    return path_points(next(d for d in pieces if d.count("M") == 1 and d.endswith("Z")))


def test_ghost_fills_exactly_what_is_missing():
    svg = draw_tree(tree("horizontal_tiers", "half"), (), None, Options(width_mm=180))
    scale = int(next(text for text in texts_of(svg) if "scale" in text).rpartition(":")[2])
    ghosts = [s for s in shapes_of(svg) if "ghost" in s.classes]
    group = limb_group(svg, "arm:1:right")
    ghost = next(p for p in group.iter(f"{SVG}path") if p.get("class") == "ghost")
    xs = [x for x, _ in path_points(ghost.get("d"))]
    assert max(xs) - min(xs) == pytest.approx((2100 - 1250) / scale - 2.4, abs=0.3)
    assert len(ghosts) >= 7
    assert all(s.attributes["stroke-dasharray"] == "1 1" for s in ghosts)


def test_full_tree_has_no_ghosts():
    svg = draw_tree(tree("horizontal_tiers", "full"))
    assert not [s for s in shapes_of(svg) if "ghost" in s.classes]


def test_wire_heights_are_written_in_the_users_unit():
    state = tree("horizontal_tiers", "full")
    assert {"45 cm", "85 cm", "125 cm", "165 cm"} <= set(texts_of(draw_tree(state)))
    imperial = texts_of(draw_tree(state, (), None, Options(units="imperial")))
    assert "17½ in" in imperial
    assert any(text.startswith("3 ft") for text in imperial)


def test_close_wires_are_labelled_without_overlap():
    svg = draw_tree(tree("fan", "full"), (), None, Options(width_mm=70, max_height_mm=50))
    boxes = [s.box for s in shapes_of(svg) if "height" in s.classes]
    assert len(boxes) >= 2
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_black_and_white_uses_no_colour():
    svg = draw_tree(
        tree("horizontal_tiers", "half"),
        [Mark(number=1, kind="winter_prune", limb="arm:1:left")],
        None,
        Options(black_and_white=True, season="in_leaf", with_fruit=True),
    )
    colours = set(re.findall(r"#[0-9A-Fa-f]{6}", svg))
    assert colours
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)


def test_picture_for_screens_has_pixels_and_fills_its_width():
    svg = draw_tree(tree("horizontal_tiers", "full"), (), None, Options(width_px=720))
    assert root_of(svg).attrib["width"] == "720"
    assert sheet_of(svg).width == pytest.approx(720 * 25.4 / 96, abs=0.01)
    assert not any("scale 1:" in text for text in texts_of(svg))


def test_cropping_shows_the_limb_larger():
    state = tree("horizontal_tiers", "half")
    whole = draw_tree(state, (), None, Options(width_px=720))
    near = draw_tree(state, (), None, Options(width_px=720, crop_to="arm:2:left"))

    def length(svg: str) -> float:
        points = wood_points(svg, "arm:2:left")
        return max(x for x, _ in points) - min(x for x, _ in points)

    assert length(near) > 1.5 * length(whole)
    assert "clip-path" in near


def test_lost_limb_leaves_a_stub_and_is_named():
    state = tree("horizontal_tiers", "full")
    limbs = tuple(replace(limb, status="lost") if limb.key == "arm:2:left" else limb for limb in state.limbs)
    svg = draw_tree(replace(state, limbs=limbs))
    points = wood_points(svg, "arm:2:left")
    assert max(x for x, _ in points) - min(x for x, _ in points) < 6
    assert "Lost: left arm of tier 2." in description_of(svg)


def test_tappable_limbs_have_a_broad_unseen_line():
    svg = draw_tree(tree("horizontal_tiers", "half"), (), None, Options(tappable=True))
    reach = [s for s in shapes_of(svg) if "reach" in s.classes]
    assert len(reach) == len(tree("horizontal_tiers", "half").limbs)
    assert all(s.attributes["pointer-events"] == "stroke" and float(s.attributes["stroke-width"]) >= 5 for s in reach)


def test_emphasised_limb_lies_on_a_band():
    svg = draw_tree(tree("horizontal_tiers", "half"), (), None, Options(emphasise="tier:1"))
    assert len([s for s in shapes_of(svg) if "band" in s.classes]) == 4


def test_too_small_a_picture_is_refused():
    with pytest.raises(ValueError, match="at least 12 mm"):
        Options(width_px=20)


def test_tree_without_limbs_or_wires_is_still_drawn():
    state = tree("horizontal_tiers", "young")
    bare = replace(state, limbs=(), facts=replace(state.facts, wire_heights_mm=()), leader_height_mm=0)
    svg = draw_tree(bare, [Mark(number=1, kind="plant")])
    assert outside(svg) == []
    assert "1" in texts_of(svg)


def test_ghost_bar_leaves_a_gap_to_its_wire():
    """ISO 128-20: parallel lines leave at least 0.7 mm of white between them."""
    svg = draw_tree(tree("horizontal_tiers", "half"))
    wires = {round(y, 2) for s in shapes_of(svg) if "wire" in s.classes for _, y in s.points}
    for ghost in (s for s in shapes_of(svg) if "ghost" in s.classes and s.box.width > 10):
        near = min(wires, key=lambda y: abs(y - (ghost.box.top + ghost.box.bottom) / 2))
        assert near - min(y for _, y in ghost.points) - (0.4 + 0.35) / 2 >= 0.7
        assert max(y for _, y in ghost.points) - near - (0.4 + 0.35) / 2 >= 0.7
