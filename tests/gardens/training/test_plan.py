"""The places forms give their limbs."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.knowledge import form_schema as knowledge
from gardens.training import TreeFacts, course, plan_limbs, wanted_course
from gardens.training.plan import plan
from gardens.training.state import FORMS
from tests.gardens.training.trees import EVERY_FORM, of_form, tree

SPECIES = ("apple_spur", "peach", "plum_european", "fig", "grape", "olive")


@st.composite
def supports(draw: st.DrawFn) -> TreeFacts:
    """A tree of any form on any support a garden may have."""
    first, gap = draw(st.integers(200, 1100)), draw(st.integers(150, 700))
    wires = tuple(first + gap * wire for wire in range(draw(st.integers(0, 7))))
    form = draw(st.sampled_from(FORMS))
    return tree(
        form=form,
        species=draw(st.sampled_from(SPECIES)),
        wire_heights_mm=wires,
        run_left_mm=draw(st.integers(0, 4000)),
        run_right_mm=draw(st.integers(0, 4000)),
        height_mm=draw(st.integers(400, 5000)),
        tiers=draw(st.integers(0, 8)),
        axes=draw(st.integers(0, 9)),
    )


@settings(deadline=None, max_examples=80)
@given(supports())
def test_every_limb_lies_inside_the_support(facts: TreeFacts):
    for limb in plan_limbs(facts):
        for x, y in wanted_course(limb):
            assert -facts.run_left_mm - 1 <= x <= facts.run_right_mm + 1, limb.key
            assert -1 <= y <= facts.height_mm + 1, limb.key


@settings(deadline=None, max_examples=80)
@given(supports())
def test_keys_are_unique_and_bearers_exist(facts: TreeFacts):
    places = plan(facts).places
    keys = [place.limb.key for place in places]
    assert len(keys) == len(set(keys))
    assert {place.bearer for place in places} <= {"leader", "planting", *keys}


@settings(deadline=None, max_examples=80)
@given(supports())
def test_side_limbs_spring_from_their_bearers(facts: TreeFacts):
    limbs = {limb.key: limb for limb in plan_limbs(facts)}
    for place in plan(facts).places:
        if bearer := limbs.get(place.bearer):
            x, y = course(bearer, place.along_mm)[-1]
            assert abs(x - place.limb.origin_x_mm) <= 2
            assert abs(y - place.limb.origin_y_mm) <= 2


@pytest.mark.parametrize("form", FORMS)
def test_every_form_has_a_record_and_a_plan(form: str):
    record = knowledge.form(form)
    assert record.formed_when
    assert record.suits
    assert record.spacing
    assert plan_limbs(of_form(form))


def test_tiers_lie_on_the_wires_of_the_support():
    arms = [limb for limb in plan_limbs(tree()) if limb.kind == "arm"]
    assert {limb.origin_y_mm for limb in arms} == {400, 800, 1200, 1600}
    assert {limb.wanted_mm for limb in arms} == {1800}
    assert {limb.angle_deg for limb in arms} == {0.0}


def test_short_run_carries_no_arm():
    sides = {limb.side for limb in plan_limbs(tree(run_left_mm=150)) if limb.kind == "arm"}
    assert sides == {1}


def test_wires_above_the_support_carry_nothing():
    assert max(limb.tier for limb in plan_limbs(tree(height_mm=1300))) == 3


def test_slanted_cordon_leans_where_it_is_told():
    assert plan_limbs(of_form("oblique_cordon", lean="left"))[0].side == -1
    assert plan_limbs(of_form("oblique_cordon", run_left_mm=2500))[0].side == -1
    assert plan_limbs(of_form("oblique_cordon"))[0].side == 1


def test_fan_keeps_no_leader_and_spreads_its_ribs():
    limbs = plan_limbs(of_form("fan"))
    left = [limb for limb in limbs if limb.kind == "rib" and limb.side < 0]
    assert 3 <= len(left) <= 8
    angles = sorted(limb.angle_deg for limb in left)
    assert all(upper - lower > 4 for lower, upper in pairwise(angles))
    assert not [limb for limb in limbs if limb.kind == "leader"]


@pytest.mark.parametrize(("axes", "xs"), [(4, [-450, -150, 150, 450]), (3, [-300, 0, 300])])
def test_candelabra_axes_stand_evenly_about_the_trunk(axes: int, xs: list[int]):
    uprights = sorted(plan_limbs(of_form("candelabra_palmette", axes=axes)), key=lambda limb: limb.key)
    ends = [limb.course_mm[-1][0] for limb in uprights if limb.kind == "axis"]
    assert ends == xs


def test_outermost_axes_start_from_the_lowest_tier():
    axes = {limb.key: limb for limb in plan_limbs(of_form("candelabra_palmette", axes=6)) if limb.kind == "axis"}
    assert axes["axis:1"].origin_y_mm < axes["axis:2"].origin_y_mm < axes["axis:3"].origin_y_mm


def test_peach_axes_stand_wider_than_apple_axes():
    pome = plan_limbs(of_form("u_form"))[1].course_mm[-1][0]
    stone = plan_limbs(of_form("u_form", species="peach"))[1].course_mm[-1][0]
    assert abs(stone) > abs(pome)


def test_narrow_vine_goes_up_and_wide_one_sideways():
    assert plan_limbs(of_form("vine_rod_and_spur", run_left_mm=500, run_right_mm=500))[0].angle_deg == 90
    assert {limb.angle_deg for limb in plan_limbs(of_form("vine_rod_and_spur")) if limb.kind == "rod"} == {0}


def test_course_of_a_bent_limb_turns_the_corner():
    (axis,) = [limb for limb in plan_limbs(of_form("u_form")) if limb.key == "axis:2"]
    assert course(axis, 100)[-1] == (100, 250)
    assert course(axis, 150 + 400)[-1] == (150, 650)


def test_every_form_is_told_from_its_measures():
    for form in EVERY_FORM:
        for key, figure in knowledge.form(form).numbers.items():
            assert figure.source, (form, key)
            assert figure.low is None or figure.low <= figure.value, (form, key)
            assert figure.high is None or figure.high >= figure.value, (form, key)


def test_no_form_takes_more_than_a_metre_twenty_of_depth():
    """Common practice: 0.9 to 1.2 m of depth at most."""
    assert max(record.number("depth_mm") for record in knowledge.forms().values()) <= 1200
