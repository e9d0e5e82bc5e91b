"""Traces, joints and dimensions: the plane geometry under the pictures."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gardens.drawing.canvas import Canvas, clean, number
from gardens.drawing.frame import Margins, Reach, fit
from gardens.drawing.geometry import Box, Trace, grain, swaying, turned, unit
from gardens.drawing.lettering import shortened, words_width
from gardens.drawing.skeleton import build_skeleton
from gardens.drawing.style import PAPER_SCALES, Options

from .trees import TREES, tree

STRAIGHT = Trace(tuple((float(x), 0.0) for x in range(0, 50, 5)), tuple(float(x * 20) for x in range(0, 50, 5)))


def test_a_trace_finds_points_by_real_distance():
    assert STRAIGHT.point_at(450) == pytest.approx((22.5, 0.0))
    assert STRAIGHT.direction_at(450) == (1.0, 0.0)
    assert STRAIGHT.point_at(9999) == STRAIGHT.end


def test_a_piece_of_a_trace_keeps_its_distances():
    piece = STRAIGHT.between(130, 470)
    assert piece is not None
    assert (piece.stations[0], piece.stations[-1]) == (130, 470)
    assert piece.start == pytest.approx((6.5, 0.0))
    assert piece.paper_length() == pytest.approx(17.0)
    assert STRAIGHT.between(600, 600) is None


@given(st.text(max_size=30), st.floats(0, 0.5))
def test_sway_stays_within_its_amount(key, amount):
    moved = swaying(STRAIGHT, key, amount)
    assert moved.start == STRAIGHT.start
    assert moved == swaying(STRAIGHT, key, amount)
    for (ax, ay), (bx, by) in zip(STRAIGHT.points, moved.points, strict=True):
        assert hypot(bx - ax, by - ay) <= amount + 1e-9


@given(st.text(max_size=40), st.integers(0, 5000))
def test_grain_is_a_share_and_repeats(key, index):
    assert 0 <= grain(key, index) < 1
    assert grain(key, index) == grain(key, index)


@given(st.floats(-360, 360))
def test_turning_keeps_length(degrees):
    assert hypot(*turned(unit(3, 4), degrees)) == pytest.approx(1)


@pytest.mark.parametrize(("value", "text"), [(0, "0"), (-0.001, "0"), (1.5, "1.5"), (2.0, "2"), (-3.256, "-3.26")])
def test_numbers_are_written_short(value, text):
    assert number(value) == text


def test_text_is_cleaned_of_what_xml_forbids():
    assert clean("a\x00\x0b\ufffe<b>\"'&") == "a&lt;b&gt;&quot;&#x27;&amp;"


def test_an_empty_group_leaves_no_trace():
    canvas = Canvas()
    with canvas.group(class_="empty"):
        pass
    assert canvas.content() == ""


@given(st.floats(300, 9000), st.floats(300, 4000), st.floats(60, 250))
def test_a_frame_shows_all_of_its_reach(width, height, paper):
    reach = Reach(-width / 2, -100, width / 2, height)
    frame = fit(reach, Margins(), Options(width_mm=paper))
    left, top = frame.view.place(reach.left, reach.top)
    right, bottom = frame.view.place(reach.right, reach.bottom)
    assert frame.window.grown(0.01).contains(Box(left, top, right, bottom))
    assert frame.view.scale in PAPER_SCALES
    assert frame.height <= 125.01


@given(st.text(max_size=60), st.floats(0, 80))
def test_shortened_words_fit_their_room(text, room):
    assert words_width(shortened(text, room)) <= max(room, 0.0)


@pytest.mark.parametrize("form", TREES)
def test_limbs_run_their_whole_length(form):
    """From the end of the joint on, distances along the line are those of the limb; its end is its length away."""
    for course in build_skeleton(tree(form, "full")).courses:
        if course.present and not course.limb.course_mm:
            assert course.present[-1][1] == pytest.approx(course.limb.length_mm)
            (x0, y0), (x1, y1) = (course.limb.origin_x_mm, course.limb.origin_y_mm), course.present[-1][0]
            assert hypot(x1 - x0, y1 - y0) == pytest.approx(course.limb.length_mm, rel=0.02)


@pytest.mark.parametrize("form", ["candelabra_palmette", "u_form", "double_u"])
def test_uprights_end_over_their_place(form):
    for course in build_skeleton(tree(form, "full")).courses:
        if course.limb.kind == "axis":
            assert course.present[-1][0] == pytest.approx(course.limb.course_mm[-1], abs=2)
