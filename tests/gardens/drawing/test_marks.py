"""Marks on the picture: at the place they name, numbered, never on one another."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from gardens.drawing import Mark, Options, draw_tree, marks_from_needs, marks_from_steps
from gardens.drawing.figure import build_figure, cut_stations
from gardens.drawing.frame import View
from gardens.drawing.geometry import Box
from gardens.drawing.sites import set_marks
from gardens.drawing.support import SupportPicture
from gardens.drawing.words import limb_words
from gardens.pruning.values import Need, Window
from gardens.training.state import WORK_KINDS, Step

from .reading import description_of, limb_group, shapes_of, sheet_of, texts_of
from .trees import AGES, TREES, tree

SCALE = 25.0
SHEET = Box(0.0, 0.0, 180.0, 100.0)


def sites(state, marks):
    """The marks on a sheet where the trunk stands at x = 90 mm and the ground lies at y = 90 mm, at 1:25."""
    from gardens.drawing.frame import Frame

    view = View(SCALE, (90.0, 90.0))
    frame = Frame(180.0, 100.0, SHEET, view)
    figure = build_figure(state, view, SHEET, Options())
    return set_marks(marks, figure, SupportPicture.for_tree(state.facts), frame)


def test_cut_of_the_leader_sits_at_its_height():
    (site,) = sites(tree("horizontal_tiers", "half"), [Mark(number=1, kind="head_back", limb="leader", at_mm=1300)])
    assert site.point[1] == pytest.approx(90 - 1300 / SCALE, abs=0.3)
    assert site.point[0] == pytest.approx(90, abs=0.5)
    assert site.way[1] < -0.95


def test_cut_of_an_arm_sits_at_its_distance():
    (site,) = sites(
        tree("horizontal_tiers", "full"), [Mark(number=1, kind="shorten_arms", limb="arm:2:left", at_mm=1500)]
    )
    assert site.point[0] == pytest.approx(90 - 1500 / SCALE, abs=0.3)
    assert site.point[1] == pytest.approx(90 - 850 / SCALE, abs=0.5)


def test_cut_beyond_a_limb_stays_at_its_tip():
    (site,) = sites(tree("horizontal_tiers", "half"), [Mark(number=1, kind="head_back", limb="leader", at_mm=9000)])
    assert site.point[1] == pytest.approx(90 - 1330 / SCALE, abs=0.6)


def test_mark_for_a_tier_shows_on_both_arms():
    found = sites(tree("horizontal_tiers", "full"), [Mark(number=1, kind="tie_in", limb="tier:2")])
    assert sorted(site.point[0] < 90 for site in found) == [False, True]


def test_lower_arms_sweeps_from_slanted_to_flat():
    found = sites(tree("horizontal_tiers", "half"), [Mark(number=1, kind="lower_arms", limb="tier:2", to_angle_deg=0)])
    assert len(found) == 2
    for site in found:
        assert site.sweep[0][1] < site.sweep[-1][1] < 90 - 850 / SCALE + 1
        assert abs(site.sweep[-1][0] - 90) > abs(site.sweep[0][0] - 90)


def test_wood_beyond_a_cut_is_dashed():
    marks = [Mark(number=1, kind="head_back", limb="leader", at_mm=1300)]
    svg = draw_tree(tree("horizontal_tiers", "half"), marks)
    waste = [shape for shape in shapes_of(svg) if "off" in shape.classes]
    assert len(waste) == 1
    assert waste[0].attributes["stroke-dasharray"] == "2.2 1.4"
    assert limb_group(svg, "leader") is not None


def test_cut_below_the_leader_takes_the_leader_whole():
    state = tree("horizontal_tiers", "half")
    assert cut_stations(state, "leader", 600) == {"trunk": pytest.approx(600), "leader": 0.0}
    assert cut_stations(state, "tier:1", 900) == {"arm:1:left": 900.0, "arm:1:right": 900.0}
    assert cut_stations(state, "leader", None) == {}


CROWDED = [
    Mark(number=1, kind="head_back", limb="leader", at_mm=1300, label="130 cm"),
    Mark(number=2, kind="lower_arms", limb="tier:2", to_angle_deg=0),
    Mark(number=3, kind="remove_ties", limb="arm:1:left"),
    Mark(number=4, kind="winter_prune", limb="tier:1", label="3 buds"),
    Mark(number=5, kind="thin_spurs", limb="arm:1:right", label="5→2"),
    Mark(number=6, kind="shorten_arms", limb="arm:1:right", at_mm=1050, label="105 cm"),
    Mark(number=7, kind="remove_low_shoots", limb="trunk"),
    Mark(number=8, kind="feed_mulch"),
    Mark(number=9, kind="inspect", limb="arm:1:left"),
    Mark(number=10, kind="tighten_wires", limb="wire:4"),
]


@pytest.mark.parametrize("width", [90.0, 120.0, 180.0])
def test_number_squares_never_overlap(width):
    svg = draw_tree(tree("horizontal_tiers", "half"), CROWDED, None, Options(width_mm=width))
    squares = [s.box for s in shapes_of(svg) if s.tag == "rect" and s.stroke_width == 0.3]
    assert len(squares) == 12
    for index, one in enumerate(squares):
        assert sheet_of(svg).contains(one)
        assert not any(one.overlaps(other) for other in squares[index + 1 :])


def test_symbols_keep_clear_of_each_other():
    found = sites(tree("horizontal_tiers", "half"), CROWDED)
    free = [site for site in found if site.mark.at_mm is None and site.mark.kind != "lower_arms"]
    for index, one in enumerate(free):
        for other in free[index + 1 :]:
            apart = ((one.point[0] - other.point[0]) ** 2 + (one.point[1] - other.point[1]) ** 2) ** 0.5
            assert apart > one.symbol.radius + other.symbol.radius, (one.mark, other.mark)


def test_every_number_and_label_is_written():
    words = texts_of(draw_tree(tree("horizontal_tiers", "half"), CROWDED))
    assert {str(mark.number) for mark in CROWDED} <= set(words)
    assert {mark.label for mark in CROWDED if mark.label} <= set(words)


def test_every_mark_is_told_in_words():
    told = description_of(draw_tree(tree("horizontal_tiers", "half"), CROWDED))
    for mark in CROWDED:
        assert mark.words() in told


@pytest.mark.parametrize("form", TREES)
@pytest.mark.parametrize("age", AGES)
def test_every_kind_finds_a_place_on_every_form(form, age):
    state = tree(form, age)
    marks = [Mark(number=n, kind=kind) for n, kind in enumerate(WORK_KINDS, 1)]
    for mark in marks:
        assert sites(state, [mark]), (form, age, mark.kind)


@pytest.mark.parametrize(
    ("limb", "near"),
    [("spur:1:left:4", "arm:1:left"), ("lateral:arm:1:right:2", "arm:1:right"), ("shoot:2:right", "arm:2:right")],
)
def test_side_wood_is_found_on_its_limb(limb, near):
    state = tree("horizontal_tiers", "full")
    (site,) = sites(state, [Mark(number=1, kind="inspect", limb=limb)])
    _, tier, side = near.split(":")
    assert (site.point[0] < 90) == (side == "left")
    assert site.point[1] == pytest.approx(90 - (450, 850)[int(tier) - 1] / SCALE, abs=1.5)


def test_needs_become_numbered_marks_in_their_order():
    day = date(2026, 1, 10)
    window = Window(
        opens=day, best_from=day, best_until=day + timedelta(30), closes=day + timedelta(60), basis="normals"
    )
    needs = [
        Need(kind="head_back", limb="leader", instruction="", window=window, minutes=5, why="", source="", at_mm=1300),
        Need(kind="lower_arms", limb="tier:2", instruction="", window=window, minutes=5, why="", source="",
             to_angle_deg=0.0),
    ]  # fmt: skip
    marks = marks_from_needs(needs, "imperial", first=4)
    assert [(mark.number, mark.kind, mark.label) for mark in marks] == [
        (4, "head_back", "4 ft 3 in"),
        (5, "lower_arms", ""),
    ]
    assert marks[1].to_angle_deg == 0.0


def test_steps_become_numbered_marks_too():
    step = Step(kind="shorten_arms", limb="arm:1:left", instruction="", why="", source="", season="dormant", at_mm=900)
    assert marks_from_steps([step]) == (
        Mark(number=1, kind="shorten_arms", limb="arm:1:left", at_mm=900, label="90 cm"),
    )


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("whole", "whole tree"),
        ("arm:2:left", "left arm of tier 2"),
        ("rib:3:right", "right rib 3"),
        ("axis:1", "axis 1"),
        ("cane:left", "left cane"),
        ("tier:2", "tier 2"),
        ("spur:1:left:4", "spur 4 on the left arm of tier 1"),
        ("lateral:rib:2:left:3", "lateral 3 on left rib 2"),
        ("strange", "strange"),
    ],
)
def test_limb_keys_are_said_in_words(key, words):
    assert limb_words(key) == words
