"""Young trees with jobs are drawn from near by, so that every mark has its room; luck scatters as luck does."""

from __future__ import annotations

from datetime import date
from statistics import mean

import pytest

from gardens.drawing import Mark, Options, draw_tree
from gardens.drawing.geometry import grain
from gardens.drawing.support import SupportPicture
from gardens.training import fold
from tests.gardens.drawing.reading import shapes_of
from tests.gardens.training.trees import of_form

JOBS = (Mark(number=1, kind="head_back", limb="leader", at_mm=850), Mark(number=2, kind="remove_low_shoots"))
FORMS = ("horizontal_tiers", "fan", "u_form", "oblique_palmette")


def young(form: str):
    return fold(of_form(form), [], date(2027, 1, 15))


def wires_of(svg: str) -> list[float]:
    """Heights of the wires on the sheet, from below [mm of paper]."""
    wires = [shape for shape in shapes_of(svg) if "wire" in shape.classes]
    return sorted({y for shape in wires for _, y in shape.points}, reverse=True)


def apart(svg: str) -> float:
    first, second, *_ = wires_of(svg)
    return first - second


@pytest.mark.parametrize("form", FORMS)
def test_young_tree_with_jobs_comes_out_larger(form: str):
    state = young(form)
    wall = SupportPicture(
        kind="wall", run_mm=9000, height_mm=2600, wire_heights_mm=(400, 800, 1200, 1600), trunk_x_mm=4000
    )
    assert apart(draw_tree(state, JOBS, wall)) > 1.3 * apart(draw_tree(state, (), wall))


def test_full_tree_is_drawn_whole_with_or_without_jobs():
    state = fold(of_form("horizontal_tiers"), [], date(2045, 1, 15))
    assert apart(draw_tree(state, JOBS)) == pytest.approx(apart(draw_tree(state)))


def test_near_picture_is_cut_off_at_its_window_and_shows_the_next_wire():
    state = young("horizontal_tiers")
    svg = draw_tree(state, JOBS, SupportPicture.for_tree(state.facts, kind="wall"))
    assert "clip-path" in svg
    assert len(wires_of(svg)) >= 3  # two below the leader's tip, the next one above it
    # The wall goes on above the window: no coping is drawn where there is none.
    whole = draw_tree(state, (), SupportPicture.for_tree(state.facts, kind="wall"))
    assert len(wires_of(svg)) < len(wires_of(whole))


def test_small_picture_in_a_link_stays_whole():
    state = young("horizontal_tiers")
    options = Options(compact=True, width_px=160)
    assert "clip-path" not in draw_tree(state, JOBS, None, options)


@pytest.mark.parametrize("key", ["leader", "arm:1:left", "arm:1:right", "rib:3:left", "axis:2"])
def test_luck_is_even_for_every_limb(key: str):
    """The mean of forty even draws lies within 0.36 and 0.64 for 998 of 1000 keys (normal law, sd 0.289 ÷ √40)."""
    draws = [grain(key, 600 + index) for index in range(40)]
    assert 0.36 < mean(draws) < 0.64
    assert {int(draw * 4) for draw in draws} == {0, 1, 2, 3}


@pytest.mark.parametrize("form", ["oblique_cordon", "horizontal_tiers", "candelabra_palmette"])
def test_full_trees_in_leaf_carry_fruit_on_every_side(form: str):
    state = fold(of_form(form), [], date(2045, 1, 15))
    svg = draw_tree(state, (), None, Options(season="in_leaf", with_fruit=True))
    fruit = [shape for shape in shapes_of(svg) if shape.tag == "circle" and float(shape.attributes.get("r", 0)) > 0.7]
    middle = mean(shape.box.left for shape in fruit)
    assert len(fruit) > 4
    assert 0.2 < sum(shape.box.left < middle for shape in fruit) / len(fruit) < 0.8
