"""Whatever state comes: the picture is well formed, inside its sheet, and the same the second time."""

from __future__ import annotations

from datetime import date

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gardens.drawing import SYMBOLS, Mark, Options, SupportPicture, draw_strip, draw_tree
from gardens.drawing.habits import HABITS
from gardens.drawing.style import LEAST_STROKE
from gardens.training.state import FORMS, Limb, TreeFacts, TreeState

from .reading import description_of, root_of, shapes_of, title_of
from .test_tree_picture import outside

STATUSES = ("wanted", "chosen", "tied", "set", "lost")


@st.composite
def limbs(draw, number: int) -> Limb:
    kind = draw(st.sampled_from(("arm", "rib", "axis", "rod", "cane")))
    origin = (draw(st.integers(-800, 800)), draw(st.integers(0, 2500)))
    course: tuple[tuple[int, int], ...] = ()
    if kind == "axis" and draw(st.booleans()):
        turn = (origin[0] + draw(st.integers(-600, 600)), origin[1])
        course = (origin, turn, (turn[0], turn[1] + draw(st.integers(1, 2000))))
    return Limb(
        key=f"{kind}:{number}:{draw(st.sampled_from(('left', 'right')))}",
        kind=kind,
        tier=draw(st.integers(0, 6)),
        side=draw(st.sampled_from((-1, 0, 1))),
        status=draw(st.sampled_from(STATUSES)),
        length_mm=draw(st.integers(0, 4000)),
        wanted_mm=draw(st.integers(0, 4000)),
        angle_deg=draw(st.floats(-30, 120)),
        origin_x_mm=origin[0],
        origin_y_mm=origin[1],
        parent=draw(st.sampled_from(("trunk", "", "arm:1:left", "nowhere"))),
        is_weak=draw(st.booleans()),
        wanted_angle_deg=draw(st.none() | st.floats(-10, 100)),
        grown_mm=draw(st.integers(0, 1500)),
        course_mm=course,
    )


@st.composite
def states(draw) -> TreeState:
    wires = tuple(sorted(draw(st.sets(st.integers(50, 3000), max_size=9))))
    facts = TreeFacts(
        species=draw(st.sampled_from((*HABITS, "unheard_of"))),
        form=draw(st.sampled_from(FORMS)),
        planted_on=date(2020, 11, 1),
        wire_heights_mm=wires,
        run_left_mm=draw(st.integers(0, 5000)),
        run_right_mm=draw(st.integers(0, 5000)),
        height_mm=draw(st.integers(300, 4000)),
        tiers=draw(st.integers(0, 6)),
    )
    trunk = draw(st.integers(0, 2500))
    stem = [
        Limb(key="trunk", kind="trunk", length_mm=trunk, wanted_mm=trunk, angle_deg=draw(st.sampled_from((90, 45))))
    ]
    if draw(st.booleans()):
        stem.append(Limb(key="leader", kind="leader", length_mm=draw(st.integers(0, 1500)), origin_y_mm=trunk))
    number = draw(st.integers(0, 8))
    return TreeState(
        facts=facts,
        on=date(2024, 2, 29),
        stage=draw(st.sampled_from(("planted", "forming", "extending", "full", "renovating", "lost"))),
        tiers_set=draw(st.integers(0, 6)),
        leader_height_mm=draw(st.integers(0, 3000)),
        limbs=(*stem, *(draw(limbs(index)) for index in range(number))),
        girth_mm=draw(st.none() | st.integers(10, 900)),
    )


marks = st.builds(
    Mark,
    number=st.integers(0, 120),
    kind=st.sampled_from((*SYMBOLS, "unheard_of")),
    limb=st.sampled_from(
        (
            "whole",
            "trunk",
            "leader",
            "tier:2",
            "arm:1:left",
            "rib:3:right",
            "wire:2",
            "wire:99",
            "post:1",
            "spur:1:left:4",
            "x",
        )
    ),
    at_mm=st.none() | st.integers(-50, 5000),
    to_angle_deg=st.none() | st.floats(-30, 120),
    label=st.text(max_size=20),
)
options = st.builds(
    Options,
    width_mm=st.floats(50, 260),
    max_height_mm=st.floats(50, 200),
    season=st.sampled_from(("dormant", "in_leaf")),
    with_fruit=st.booleans(),
    black_and_white=st.booleans(),
    units=st.sampled_from(("metric", "imperial")),
)
USUAL = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@USUAL
@given(states(), st.lists(marks, max_size=8), options)
def test_any_state_is_drawn_inside_its_sheet(state, todo, wish):
    svg = draw_tree(state, todo, None, wish)
    assert outside(svg) == []
    assert 0 < len(title_of(svg)) <= 60
    for mark in todo:
        assert f"{mark.number}: " in description_of(svg) or not mark.number
    strokes = [s.stroke_width for s in shapes_of(svg) if s.attributes.get("stroke", "none") != "none"]
    assert min(strokes, default=1) >= LEAST_STROKE
    assert svg == draw_tree(state, todo, None, wish)


@USUAL
@given(states(), st.text(max_size=80), st.text(max_size=30))
def test_any_words_leave_the_picture_well_formed(state, title, aspect):
    support = SupportPicture.for_tree(state.facts, kind="wall", aspect=aspect)
    svg = draw_tree(state, (), support, Options(title=title))
    assert root_of(svg).tag.endswith("svg")
    assert outside(svg) == []


@USUAL
@given(st.lists(states(), min_size=1, max_size=6), options)
def test_any_years_make_a_strip_inside_its_sheet(years, wish):
    assert outside(draw_strip(years, None, wish)) == []
