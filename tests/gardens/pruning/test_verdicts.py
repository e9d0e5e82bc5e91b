"""Every kind of work is either allowed or forbidden on a day, never both, and always says why and by whom."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.knowledge import load_knowledge
from gardens.knowledge.words import PROFILES
from gardens.pruning import Situation, verdict_on, verdicts_on
from tests.gardens.pruning.trees import NORTH, SOUTH, tree, year_of

SPECIES = load_knowledge().species


def best_form(species):
    grades = species.facts.suitability.grades
    forms = {
        "tiers": "horizontal_tiers",
        "fan": "fan",
        "vine": "vine_tiers",
        "informal": "informal",
        "cordon": "oblique_cordon",
    }
    return next(forms[group] for group, grade in grades.items() if group in forms and grade == 3)


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("place", [NORTH, SOUTH], ids=["north", "south"])
@pytest.mark.parametrize("species", SPECIES.values(), ids=list(SPECIES))
def test_nothing_is_at_once_allowed_and_forbidden(species, place, profile):
    year = year_of(species.id, best_form(species), profile=profile, place=place)
    for month in range(1, 13):
        for day in (1, 15):
            on = date(2026, month, day)
            verdicts = verdicts_on(on, year)
            assert [verdict.kind for verdict in verdicts] == list(species.kinds)
            for verdict in verdicts:
                assert verdict.source
                assert verdict.why
                assert verdict.is_allowed or verdict.code
                shut_always = [
                    closure
                    for closure in year.closures
                    if not closure.rule.warn_only and not closure.rule.allow and verdict.kind in closure.rule.kinds
                ]
                if verdict.is_allowed:
                    assert not any(closure.shuts(on) for closure in shut_always), (verdict.kind, on)


def test_closed_season_gives_code_and_sentence():
    verdict = verdict_on("summer_prune", date(2026, 1, 15), year_of("plum_european", "fan"))

    assert (verdict.is_allowed, verdict.code) == (False, "SILVER_LEAF")
    assert "September to May" in verdict.why


def test_work_ahead_names_the_day_it_opens():
    verdict = verdict_on("summer_prune", date(2026, 7, 20), year_of("apple_spur"))

    assert (verdict.is_allowed, verdict.code) == (False, "WAIT")
    assert verdict.why.startswith("Wait until 15 August")


def test_work_that_another_climate_knows_is_refused_with_the_reason():
    verdict = verdict_on("winter_prune", date(2026, 7, 5), year_of("peach", "fan"))

    assert not verdict.is_allowed
    assert verdict.why.startswith("Not done here: silver leaf")


@pytest.mark.parametrize(
    ("day", "code"),
    [
        ({"dry_behind_h": 0}, "WET"),
        ({"rain_in_h": 10}, "WET"),
        ({"is_frozen": True}, "FROZEN"),
        ({"tmin_ahead_c": -19.0, "tmin_in_days": 3}, "COLD"),
        ({"has_nest": True}, "NEST"),
    ],
)
def test_weather_and_nests_stop_an_open_cut(day, code):
    verdict = verdict_on("winter_prune", date(2026, 1, 15), year_of("apple_spur"), Situation(**day))

    assert (verdict.is_allowed, verdict.code) == (False, code)


@pytest.mark.parametrize(
    "day", [{}, {"rain_in_h": 30}, {"tmin_ahead_c": -19.0, "tmin_in_days": 6}, {"tmin_ahead_c": -5.0}]
)
def test_fair_or_unknown_weather_lets_an_open_cut_go_ahead(day):
    assert verdict_on("winter_prune", date(2026, 1, 15), year_of("apple_spur"), Situation(**day)).is_allowed


def test_nest_does_not_stop_a_look():
    verdict = verdict_on("inspect", date(2026, 5, 20), year_of("pyracantha"), Situation(has_nest=True))

    assert verdict.is_allowed


def test_bleeding_vine_may_be_cut_but_carries_its_code():
    verdict = verdict_on("winter_prune", date(2026, 3, 10), year_of("grape", "vine_rod_and_spur"))

    assert (verdict.is_allowed, verdict.code) == (True, "SAP_BLEED")
    assert "but mind" in verdict.why


def test_six_dry_weeks_are_asked_of_apricot_in_dry_summers():
    year = year_of("apricot", "fan", profile="mediterranean")
    on = date(2026, 7, 25)

    assert verdict_on("summer_prune", on, year, Situation(dry_days_ahead=60)).is_allowed
    assert verdict_on("summer_prune", on, year, Situation(dry_days_ahead=41)).code == "EUTYPA"


def test_outgrown_work_gives_no_reason_to_wait():
    year = year_of("apple_spur")
    old, young = tree(), tree(stage="forming", planted=date(2025, 1, 15))

    assert "blossom" not in verdict_on("thin_fruit", date(2026, 3, 1), year, state=old).why
    assert "first three springs" in verdict_on("thin_fruit", date(2026, 3, 1), year, state=young).why


def test_renovation_season_is_not_offered_to_a_kept_peach():
    year = year_of("peach", "fan")
    april = date(2026, 4, 15)

    assert not verdict_on("renew_wood", april, year, state=tree("peach", "fan")).is_allowed
    assert verdict_on("renew_wood", april, year, state=tree("peach", "fan", stage="renovating")).is_allowed
