"""What speaks against a tree as it is planted: one answer, each doubt once, with reason and source."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from gardens.climate import Place
from gardens.knowledge import load_knowledge
from gardens.pruning import AdviceRequest, advise, planting_doubts, usual_facts
from gardens.training.state import FORMS

ASKED = AdviceRequest(
    species="apple_spur",
    form="horizontal_tiers",
    planted_on=date(2025, 12, 1),
    on=date(2026, 6, 20),
    place=Place(latitude_deg=51.5, longitude_deg=-1.0),
)
SPECIES = load_knowledge().species


def doubts_of(species: str, form: str, **changes):
    asked = replace(ASKED, species=species, form=form)
    return planting_doubts(replace(usual_facts(asked, species), **changes), SPECIES[species])


@pytest.mark.parametrize("form", FORMS)
def test_every_pair_is_told_once_and_with_its_source(form: str):
    for species in SPECIES:
        told = [doubt for doubt in doubts_of(species, form) if doubt.about == "form"]
        assert len(told) <= 1
        assert all(doubt.text and doubt.source for doubt in told)


@pytest.mark.parametrize("form", FORMS)
def test_usual_tree_of_a_form_raises_no_doubt_of_room(form: str):
    for species in ("apple_spur", "pear_european", "peach", "grape", "fig"):
        assert not [doubt for doubt in doubts_of(species, form) if doubt.about in ("room", "wire", "gap", "stock")]


@pytest.mark.parametrize(
    ("species", "form", "said", "refused"),
    [
        ("peach", "horizontal_tiers", "Better: fan", True),
        ("apple_tip", "horizontal_tiers", "Better: ", True),
        ("blackberry", "oblique_cordon", "not advised", True),
        ("camellia", "oblique_cordon", "poor", False),
    ],
)
def test_pair_is_judged_by_form_then_by_species(species: str, form: str, said: str, refused: bool):
    """Royal Horticultural Society profiles 319 and 625: no peaches, no tip bearers on tiers."""
    found = [doubt for doubt in doubts_of(species, form) if doubt.about == "form"]
    assert said in found[0].text
    assert found[0].is_refusal is refused


def test_pair_the_species_grades_well_raises_no_doubt():
    assert SPECIES["camellia"].grade("fan") == 3
    assert not [doubt for doubt in doubts_of("camellia", "fan") if doubt.about == "form"]


def test_advice_tells_a_wrong_form_once():
    """Two lists speak of peaches on tiers; a person reads one sentence."""
    warnings = advise(replace(ASKED, species="peach")).warnings
    about_form = [
        warning for warning in warnings if "tiers" in warning.text.lower() and "peach" in warning.text.lower()
    ]
    assert len(about_form) <= 1
    assert sum("Better: fan" in warning.text for warning in warnings) == 1


@pytest.mark.parametrize("name", ["MM 106", "mm106", "MM-106"])
def test_stock_is_known_however_it_is_written(name: str):
    told = advise(replace(ASKED, rootstock=name))
    assert not any("not known" in warning.text for warning in told.warnings)
    assert told.state.facts.run_left_mm == advise(replace(ASKED, rootstock="MM106")).state.facts.run_left_mm


def test_weak_stock_narrows_and_strong_stock_widens_the_usual_run():
    """Nursery guides: M26 3 to 3.6 m, MM106 3.6 to 4.3 m, MM111 5 to 6 m apart."""
    runs = [
        usual_facts(replace(ASKED, rootstock=stock), "apple_spur").run_left_mm for stock in ("M26", "MM106", "MM111")
    ]
    assert runs == [1650, 1975, 2750]


def test_slanted_cordon_runs_to_the_end_of_its_slant():
    """At 45 degrees a stem runs as far along the support as it rises: 1.8 m of height, 1.8 m of run (calculated)."""
    facts = usual_facts(replace(ASKED, form="oblique_cordon"), "apple_spur")
    assert facts.run_left_mm == facts.height_mm
    upright = usual_facts(replace(ASKED, form="upright_cordon"), "apple_spur")
    assert upright.run_left_mm < 500
