"""How a business trains: every choice is explained, checked, and changes what it says it changes."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from business.errors import BadInput
from gardens.knowledge.form_schema import shared_rules
from gardens.knowledge.practice_schema import practice_choices, read_practice_choices
from gardens.training import USUAL, Step, TrainingPractice, TreeFacts, choices_of, fold, practice_of, read_practice
from gardens.training.steps import steps_for_season
from tests.gardens.training.trees import measured, of_form, seen, tree

OF_SIDE_WOOD = {
    "blossom_off_seasons",
    "lateral_keep_leaves",
    "sublateral_keep_leaves",
    "leave_below_mm",
    "regrowth",
    "spur_thin_from_season",
    "asks_for_upkeep",
}
"""What the species rules decide; a business changes it there."""

OTHERWISE: dict[str, Any] = {
    "heading_margin_mm": -60,
    "first_cut_mm": 300,
    "short_leader_share": 0.5,
    "balance_trigger": 0.95,
    "balance_turn_deg": 30,
    "full_share": 0.7,
    "vine_cane_min_mm": 10,
    "renovation_seasons": 2,
    "renovation_share": 0.2,
}


def some_trees() -> list[tuple[TreeFacts, list[Any]]]:
    short = [measured(date(2026, 11, 20), "season_growth", 240), measured(date(2026, 11, 20), "leader_height", 650)]
    unequal = [
        measured(date(2027, 11, 20), "limb_length", 300, "arm:1:left"),
        measured(date(2027, 11, 20), "limb_length", 340, "arm:1:right"),
        seen(date(2028, 6, 1), "weak", "arm:2:left"),
    ]
    return [
        (tree(), []),
        (tree(), short),
        (tree(), unequal),
        (of_form("oblique_cordon"), []),
        (of_form("vine_rod_and_spur"), []),
        (of_form("vine_tiers"), []),
        (tree(start="neglected"), []),
    ]


def all_steps(practice: TrainingPractice) -> list[Step]:
    """What is asked of a few different trees over their first years."""
    steps: list[Step] = []
    for facts, records in some_trees():
        for year in range(2026, 2034):
            day = date(year, 2, 1)
            state = fold(facts, records, day, practice=practice)
            steps += steps_for_season(state, year, practice=practice)
    return steps


@pytest.fixture(scope="module")
def usual_steps() -> list[Step]:
    return all_steps(USUAL)


def alternatives(name: str) -> list[Any]:
    choice = practice_choices()[name]
    if choice.manner == "option":
        return [option.value for option in choice.options if option.value != getattr(USUAL, name)]
    return [OTHERWISE[name]]


CHANGED = [(name, value) for name in practice_choices() for value in alternatives(name)]


def test_every_field_is_a_choice_or_a_rule_of_the_species():
    names = {field.name for field in fields(TrainingPractice)}
    assert set(practice_choices()) == names - OF_SIDE_WOOD


def test_usual_practice_lies_within_every_choice():
    usual = {name: getattr(USUAL, name) for name in practice_choices()}
    assert practice_of(usual) == USUAL
    assert choices_of(USUAL) == {}


@pytest.mark.parametrize(("name", "value"), CHANGED)
def test_every_choice_changes_the_steps_it_names(name: str, value: Any, usual_steps: list[Step]):
    """The steps that come, go or read differently are of the kinds the choice names; some do."""
    rules = practice_choices()[name].changes
    kinds = {shared_rules()[rule].kind for rule in rules}
    changed = all_steps(practice_of({name: value}))
    before = {(step.kind, step.limb, step.instruction, step.year) for step in usual_steps}
    after = {(step.kind, step.limb, step.instruction, step.year) for step in changed}
    assert {kind for kind, *_ in before ^ after} & kinds


@pytest.mark.parametrize(("name", "value"), CHANGED)
def test_choices_are_kept_and_read_back_the_same(name: str, value: Any):
    practice = practice_of({name: value})
    assert choices_of(practice) == {name: value}
    assert practice_of(choices_of(practice)) == practice


@pytest.mark.parametrize(
    ("choices", "wrong"),
    [
        ({"low_shots": "remove"}, "use low_shoots"),
        ({"low_shoots": "perhaps"}, '"keep_first_year"'),
        ({"keep_spare_shoot": 1}, "true, false"),
        ({"full_share": 1.2}, "out of range"),
        ({"full_share": True}, "not a number"),
        ({"renovation_seasons": 2.5}, "whole number"),
        ({"first_cut_mm": 20}, "150 to 1200"),
        ({"asks_for_upkeep": False}, "no choice"),
    ],
)
def test_wrong_choice_is_named_with_what_would_be_right(choices: dict[str, Any], wrong: str):
    with pytest.raises(BadInput, match=wrong):
        practice_of(choices)


def test_all_faults_of_a_practice_come_at_once():
    with pytest.raises(BadInput) as refusal:
        practice_of({"full_share": 0, "low_shoots": "x", "nonsense": 1})
    assert [fault.where for fault in refusal.value.faults] == ["full_share", "low_shoots", "nonsense"]


def test_empty_choice_goes_back_to_the_usual():
    other = practice_of({"heading_margin_mm": 0, "low_shoots": "remove"})
    assert practice_of({"heading_margin_mm": None}, other) == practice_of({"low_shoots": "remove"})


def test_practice_is_read_from_a_file_of_lines():
    assert read_practice('low_shoots = "remove"\nfull_share = 0.9\n', where="ours.toml") == TrainingPractice(
        low_shoots="remove", full_share=0.9
    )
    with pytest.raises(BadInput, match=r"ours\.toml, full_share"):
        read_practice("full_share = 9", where="ours.toml")
    with pytest.raises(BadInput, match=r"ours\.toml: cannot be read"):
        read_practice("full share 9", where="ours.toml")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            'id = "a"\ngroup = "g"\nlabel = "l"\nmanner = "share"\nwhy = "w."\nchanges = ["head"]\nsource = "SFT"',
            "no span",
        ),
        (
            'id = "a"\ngroup = "g"\nlabel = "l"\nmanner = "option"\nwhy = "w."\nchanges = ["head"]\nsource = "SFT"',
            "nothing to choose",
        ),
        (
            'id = "a"\ngroup = "g"\nlabel = "l"\nmanner = "share"\nlow = 0\nhigh = 1\nwhy = "w."\nchanges = ["hed"]\n'
            'source = "SFT"',
            "hed is no training rule",
        ),
        (
            'id = "a"\ngroup = "g"\nlabel = "l"\nmanner = "share"\nlow = 0\nhigh = 1\nwhy = "w."\nchanges = ["head"]\n'
            'source = "NOBODY"',
            "NOBODY",
        ),
    ],
)
def test_wrong_file_of_choices_is_refused_by_key(tmp_path: Path, wrong: str, said: str):
    (tmp_path / "practice.toml").write_text(f"[[choice]]\n{wrong}\n", encoding="utf-8")
    with pytest.raises(BadInput, match=said):
        read_practice_choices(tmp_path)
