"""Warnings: never a silent acceptance."""

from __future__ import annotations

import pytest

from business.errors import BadInput
from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.words import FORMS as WORDS_OF_FORMS
from gardens.training import doubts, find_rootstock, on_support, plan_limbs, suitability, vigour_class, width_taken_mm
from gardens.training.state import FORMS
from tests.gardens.training.trees import of_form, tree


def test_good_pair_passes_without_a_word():
    assert doubts(tree(rootstock="MM106", run_left_mm=2000, run_right_mm=2000)) == ()


@pytest.mark.parametrize(
    ("species", "form", "better"),
    [
        ("peach", "horizontal_tiers", "fan"),
        ("apple_tip", "horizontal_tiers", "informal"),
        ("cherry_sweet", "horizontal_tiers", "fan"),
        ("plum_european", "step_over", "fan"),
        ("grape", "horizontal_tiers", "vine_tiers"),
        ("apple_spur", "vine_tiers", "informal"),
        ("cherry_sweet", "u_form", "fan"),
    ],
)
def test_wrong_pair_is_refused_with_reason_source_and_a_better_form(species: str, form: str, better: str):
    """Royal Horticultural Society profiles 319 and 625; nursery page on fans and espaliers; Belgian advice sheet."""
    fit = suitability(species, form)
    assert fit.is_refused
    assert better in fit.better
    assert len(fit.text) > 30
    assert fit.source
    assert any(doubt.is_refusal for doubt in doubts(of_form(form, species=species)))


def test_pair_no_source_speaks_of_is_named_a_trial():
    fit = suitability("persimmon", "horizontal_tiers")
    assert fit.verdict == "possible"
    assert "trial" in fit.text


def test_tree_form_is_best_for_pears_and_fans_for_stone_fruit():
    """Le Sillon Belge, 8 May 2018, and Belgian advice sheet: pear the most docile; fans best for stone fruit."""
    assert suitability("pear_european", "candelabra_palmette").verdict == "best"
    assert suitability("peach", "fan").verdict == "best"


def test_dwarf_stock_on_a_wall_is_doubted_for_tiers():
    """Fruit expert's page, 2014: very dwarfing stocks make poor fans and tiers on walls."""
    texts = " ".join(doubt.text for doubt in doubts(tree(rootstock="M27")))
    assert "Very dwarfing stocks make poor tiers" in texts
    assert "M27 carries 1 tiers at most" in texts or "M27 carries" in texts


def test_strong_stock_makes_a_poor_cordon():
    """Royal Horticultural Society, profile 87."""
    assert any("poor cordons" in doubt.text for doubt in doubts(of_form("oblique_cordon", rootstock="MM111")))


def test_stock_of_another_species_is_refused():
    assert any(doubt.is_refusal and doubt.about == "stock" for doubt in doubts(tree(rootstock="Quince A")))


def test_low_wire_and_wide_gap_are_named():
    """Nursery guide, 7 February 2011: rain splash at 30 cm. Common practice: 15 cm from the wall, 30 is too wide."""
    about = {doubt.about for doubt in doubts(tree(wire_heights_mm=(300, 700), gap_to_wall_mm=300))}
    assert {"wire", "gap"} <= about


def test_room_that_does_not_fit_the_stock_is_named():
    assert any(doubt.about == "room" for doubt in doubts(tree(rootstock="MM111", run_left_mm=800, run_right_mm=800)))
    assert any(doubt.about == "room" for doubt in doubts(tree(rootstock="M26", run_left_mm=4000, run_right_mm=4000)))


def test_slanted_cordon_with_half_a_gap_of_room_is_named():
    texts = [doubt.text for doubt in doubts(of_form("oblique_cordon", run_left_mm=375, run_right_mm=375))]
    assert any("over the neighbours' feet" in text for text in texts)
    assert not [
        doubt for doubt in doubts(of_form("upright_cordon", run_left_mm=375, run_right_mm=375)) if doubt.about == "room"
    ]


@pytest.mark.parametrize(
    ("name", "vigour"),
    [("MM 106", 4), ("mm106", 4), ("M9", 2), ("St Julien A", 4), ("Quince C", 2), ("Gisela 5", 2), ("MM111", 5)],
)
def test_rootstocks_are_known_by_the_names_people_write(name: str, vigour: int):
    """Size matrices of nurseries and of the Royal Horticultural Society."""
    stock = find_rootstock(name)
    assert stock is not None
    assert stock.vigour == vigour


def test_unknown_rootstock_is_said_and_a_middling_one_taken():
    facts = tree(rootstock="X-99")
    assert any("not known" in doubt.text for doubt in doubts(facts))
    assert vigour_class(facts) == 4


def test_vigour_classes_follow_the_published_size_matrix():
    """Fruit tree size matrix of a nursery: M27 15 %, M9 25 %, M26 40–50 %, MM106 60–80 %, M25 90–100 %."""
    sizes = {name: find_rootstock(name) for name in ("M27", "M9", "M26", "MM106", "M25")}
    percents = [stock.size_percent[0] for stock in sizes.values() if stock and stock.size_percent]
    assert percents == sorted(percents)
    classes = [stock.vigour for stock in sizes.values() if stock]
    assert classes == sorted(classes) == [1, 2, 3, 4, 6]


def test_unknown_form_is_refused_with_the_known_ones():
    with pytest.raises(BadInput, match="horizontal_tiers"):
        suitability("apple_spur", "spiral")


def test_forms_of_all_lists_are_the_same():
    assert set(knowledge.forms()) == set(FORMS) == set(WORDS_OF_FORMS)


def test_every_doubtful_pair_says_why_and_what_is_better():
    for record in knowledge.forms().values():
        for row in record.suits:
            if row.verdict in ("no", "poor"):
                assert row.text.endswith(".")
                assert row.better, (record.id, row.species)
                assert set(row.better) <= set(FORMS)


def test_leaning_forms_reach_over_their_neighbours_feet():
    """At 45 degrees a stem needs as much wire as it rises (calculated); the end of the support ends it sooner."""
    row = of_form("oblique_cordon", run_left_mm=375, run_right_mm=375)
    first, last = on_support(row, 375, 9000), on_support(row, 8625, 9000)
    assert (first.run_right_mm, first.lean) == (2000, "right")
    assert (last.run_right_mm, last.lean) == (375, "right")
    assert length_wanted(first) == pytest.approx(2000 * 2**0.5, abs=1)
    assert not [doubt for doubt in doubts(first) if doubt.about == "room"]
    assert any(doubt.about == "room" for doubt in doubts(last))
    lattice = on_support(of_form("lattice", run_left_mm=375, run_right_mm=375), 3000, 9000)
    assert lattice.run_left_mm == lattice.run_right_mm > 1500
    tiers = tree()
    assert on_support(tiers, 3000, 9000) is tiers


def test_leaning_tree_takes_the_width_of_its_spacing():
    """Royal Horticultural Society, profile 87: cordons stand 60 to 90 cm apart, however far each leans."""
    row = on_support(of_form("oblique_cordon", run_left_mm=375, run_right_mm=375), 4000, 9000)
    assert 600 <= width_taken_mm(row) <= 900
    assert width_taken_mm(tree()) == 3600


def length_wanted(facts):
    return plan_limbs(facts)[0].wanted_mm
