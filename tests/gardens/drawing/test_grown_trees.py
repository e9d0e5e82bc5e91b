"""Pictures of trees that training grew by itself, with the steps it asks for: every form, year after year."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.drawing import Options, draw_strip, draw_tree, marks_from_steps
from gardens.training import TreeFacts, fold, forecast, next_steps
from gardens.training.state import FORMS

from .reading import description_of, limb_group, texts_of
from .test_tree_picture import outside

SPECIES = {"fan": "plum_european", "informal": "fig", "u_form": "pear_european", "double_u": "pear_european"}
WIRES = {
    "step_over": (450,),
    "fan": tuple(range(400, 2200, 300)),
    "vine_tiers": (950, 1600),
    "vine_rod_and_spur": (800, 1200, 1600),
    "vine_cane_replacement": (800, 1150, 1500),
}  # common practice


def facts(form: str) -> TreeFacts:
    narrow = form.endswith("cordon") or form in ("u_form", "lattice")
    return TreeFacts(
        species=SPECIES.get(form, "grape" if form.startswith("vine") else "apple_spur"),
        form=form,
        planted_on=date(2020, 11, 20),
        wire_heights_mm=WIRES.get(form, (450, 850, 1250, 1650)),
        run_left_mm=400 if narrow else 1900,
        run_right_mm=400 if narrow else 1900,
        height_mm=2100,
    )


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("year", [2021, 2023, 2028])
def test_grown_tree_is_drawn_with_its_steps(form, year):
    for day, season in ((date(year, 1, 20), "dormant"), (date(year, 7, 10), "in_leaf")):
        state = fold(facts(form), [], day)
        marks = marks_from_steps(next_steps(state))
        svg = draw_tree(state, marks, None, Options(season=season))
        assert outside(svg) == []
        for limb in state.limbs:
            if limb.length_mm > 0:
                assert limb_group(svg, limb.key) is not None
        for mark in marks:
            assert str(mark.number) in texts_of(svg), mark
            assert mark.words() in description_of(svg)


@pytest.mark.parametrize("form", FORMS)
def test_grown_tree_over_the_years_is_drawn(form):
    states = [fold(facts(form), [], date(year, 1, 20)) for year in (2021, 2022, 2023)]
    svg = draw_strip(states, forecast(states[-1]))
    assert outside(svg) == []
    assert {"2021", "2022", "2023"} <= set(texts_of(svg))
