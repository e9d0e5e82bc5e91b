"""How long what was written of a disease holds, and for which trees."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.knowledge import load_knowledge
from gardens.pruning.diseases import DiseaseNote, disease_named, diseases_holding

KNOWN = load_knowledge().diseases


def holding(season, *notes, in_garden=()):
    return diseases_holding(notes, KNOWN, season, is_southern=False, in_garden=in_garden)


def note(year, text, *, is_clear=False):
    return DiseaseNote(on=date(year, 6, 1), text=text, is_clear=is_clear)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Fire blight on two tips", "fire_blight"),
        ("fire_blight", "fire_blight"),
        ("Bacterial canker, gum low on the stem", "bacterial_canker"),
        ("canker on the trunk", "canker"),
        ("silvery leaves on one limb", "silver_leaf"),
        ("aphids", ""),
    ],
)
def test_free_words_name_the_disease(text, name):
    assert disease_named(text, KNOWN) == name


@pytest.mark.parametrize(("season", "holds"), [(2023, False), (2024, True), (2026, True), (2027, False)])
def test_fire_blight_holds_for_two_seasons_after_it_was_seen(season, holds):
    assert ("fire_blight" in holding(season, note(2024, "fire blight"))) is holds


def test_bacterial_canker_holds_for_good_in_the_whole_garden():
    # NETREE: after harvest wherever bacterial canker was recorded; for good and for the garden: house default.
    assert holding(2040, in_garden=[note(2020, "bacterial canker")]) == {"bacterial_canker"}
    assert not holding(2025, in_garden=[note(2024, "fire blight")])


def test_a_look_that_found_none_ends_it_at_the_tree():
    seen, clear = note(2024, "silver leaf"), note(2025, "silver leaf", is_clear=True)
    assert holding(2025, seen) == {"silver_leaf"}
    assert not holding(2025, seen, clear)
