"""The words of the rule files are those of the whole program."""

from __future__ import annotations

import pytest

from gardens.climate.values import STAGES as CLIMATE_STAGES
from gardens.knowledge import load_knowledge, words
from gardens.knowledge.words import form_group
from gardens.training.state import FORMS, WORK_KINDS


def test_stages_are_those_of_the_climate_core():
    assert words.STAGES == CLIMATE_STAGES


def test_forms_and_kinds_of_work_are_those_of_training():
    assert set(words.FORMS) == set(FORMS)
    assert words.WORK_KINDS == WORK_KINDS


def test_profiles_are_those_of_the_climate_core():
    from gardens.climate import PROFILES

    assert words.PROFILES == PROFILES


def test_every_weather_gate_is_asked_of_a_gate_that_exists():
    from gardens.climate import shipped_gates

    assert {gate.asks for gate in load_knowledge().gates.values()} <= set(shipped_gates())


@pytest.mark.parametrize(("form", "group"), [("step_over", "tiers"), ("double_u", "palmette"), ("vine_tiers", "vine")])
def test_form_belongs_to_the_group_rules_speak_of(form, group):
    assert form_group(form) == group


def test_unknown_form_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="horizontal_tiers"):
        form_group("bonsai")
