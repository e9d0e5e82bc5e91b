"""What every species record must hold."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from gardens.knowledge import load_knowledge
from gardens.knowledge.usual import stage_day, when_day
from gardens.knowledge.when import ANCHORS, Frame
from gardens.knowledge.words import FORMS, PROFILES

KNOWLEDGE = load_knowledge()
SPECIES = KNOWLEDGE.species
FRUIT = [one for one in SPECIES.values() if one.group != "ornamental"]
ISSUED = [
    "apple_spur",
    "apple_part_tip",
    "apple_tip",
    "pear_european",
    "pear_asian",
    "quince",
    "medlar",
    "peach",
    "nectarine",
    "apricot",
    "plum_european",
    "plum_japanese",
    "cherry_sweet",
    "cherry_sour",
    "fig",
    "grape",
    "kiwifruit",
    "persimmon",
    "pomegranate",
    "mulberry",
    "citrus",
    "olive",
    "currant_red_white",
    "gooseberry",
    "blackberry",
    "raspberry_summer",
    "raspberry_autumn",
    "pyracantha",
    "wisteria",
    "camellia",
    "ornamental_quince",
    "almond",
    "forsythia",
]


def test_every_trained_species_has_a_record():
    assert set(ISSUED) <= set(SPECIES)


@pytest.mark.parametrize("species", SPECIES.values(), ids=list(SPECIES))
def test_every_rule_of_a_species_names_its_source(species):
    known = {entry.title for entry in KNOWLEDGE.sources.values()}
    for rule in (*species.tasks, *species.closed, *species.watches, *species.cautions):
        assert rule.source
        for source in rule.source:
            assert source in known or source in ("common practice", "from memory", "house default")


@pytest.mark.parametrize("species", SPECIES.values(), ids=list(SPECIES))
def test_species_has_a_day_for_every_stage_in_every_climate(species):
    for profile in PROFILES:
        for anchor in ANCHORS:
            assert isinstance(stage_day(anchor, Frame(2026), species.calendar[profile]), date)


@pytest.mark.parametrize("species", SPECIES.values(), ids=list(SPECIES))
def test_species_grades_every_form(species):
    assert {species.grade(form) for form in FORMS} <= {0, 1, 2, 3}
    assert max(species.grade(form) for form in FORMS) == 3


@pytest.mark.parametrize("species", FRUIT, ids=[one.id for one in FRUIT])
def test_fruit_has_crop_chill_pollen_and_harvest(species):
    facts = species.facts

    assert facts.bearing is not None
    assert facts.bearing.first_crop_year[0] <= facts.bearing.full_crop_year[1]
    assert facts.bearing.harvest_months
    assert facts.pollination is not None
    assert facts.hardiness.text
    assert any(row.is_chosen for row in facts.thinning)
    assert any(task.kind == "pick" for task in species.tasks)
    assert species.watches


@pytest.mark.parametrize("species", SPECIES.values(), ids=list(SPECIES))
def test_instructions_begin_with_a_verb_and_hold_one_act_a_line(species):
    for task in species.tasks:
        for line in task.instruction.splitlines():
            assert re.match(r"^[A-Z][a-z]+", line), (species.id, task.id, line)
            assert line.endswith((".", ":")), (species.id, task.id, line)
            assert len(line) <= 180, (species.id, task.id, line)


def test_windows_touch_the_months_their_sources_print():
    frame = Frame(2026)
    for species in SPECIES.values():
        for task in species.tasks:
            if not task.months or task.opens is None:
                continue
            calendar = species.calendar[task.profiles[0]]
            opens, closes = when_day(task.opens, frame, calendar), when_day(task.closes, frame, calendar)
            for month in task.months:
                assert _touches(opens - timedelta(days=7), closes + timedelta(days=7), month), (
                    species.id,
                    task.id,
                    month,
                )


def _touches(opens: date, closes: date, month: int) -> bool:
    return any((opens + timedelta(days=step)).month == month for step in range((closes - opens).days + 1))


def test_contradicting_advice_is_kept_with_the_choice_explained():
    questions = {both.question for species in SPECIES.values() for both in species.contradictions}

    assert len(questions) >= 39
    for species in SPECIES.values():
        for both in species.contradictions:
            assert both.a != both.b
            assert both.a_source
            assert both.b_source
            assert both.because


@pytest.mark.parametrize("code", ["SILVER_LEAF", "BACT_CANKER", "EUTYPA", "FIRE_BLIGHT", "SAP_BLEED", "COLD", "NEST"])
def test_reason_code_explains_itself_with_a_source(code):
    entry = KNOWLEDGE.codes[code]

    assert len(entry.why) > 20
    assert entry.source
    assert entry.lowers


def test_peach_is_kept_by_renewal_and_apple_by_its_spurs():
    # Facts of the trade (common practice): peaches bear on last season's growth, three-year wood goes, tiers are not
    # recommended but possible with constant renewal; apples and pears bear on spurs year after year.
    peach, apple = SPECIES["peach"], SPECIES["apple_spur"]

    assert peach.facts.wood.bears_on == ("one_year_shoot",)
    assert peach.facts.renewal.flag_age_years == 3
    assert peach.grade("horizontal_tiers") == 0
    assert "constant renewal" in peach.facts.suitability.note
    assert apple.facts.wood.bears_on == ("spur",)
    assert SPECIES["pear_european"].facts.wood.bears_on == ("spur",)
