"""Warnings with dates: frost, wet, heat, drought."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from gardens.climate import (
    DailyWeather,
    Season,
    ThirstyTree,
    WatchedTree,
    estimated_normals,
    phenology_of,
    season_weather,
    spells,
    stage_dates,
    weather_warnings,
)
from tests.gardens.climate.records import HASTINGS, LONDON

STAGES = stage_dates(LONDON, phenology_of("apple_spur"), 2026)
TREE = WatchedTree(place=LONDON, species="apple_spur", stages=STAGES)
YOUNG = ThirstyTree(planted_on=date(2025, 11, 20), height_mm=1800, width_mm=3000)


def days(first, *values):
    return tuple(
        DailyWeather(on=first + timedelta(days=step), tmin_c=low, tmax_c=high, rain_mm=rain)
        for step, (low, high, rain) in enumerate(values)
    )


def kinds(tree, known, as_of):
    return [warning.kind for warning in weather_warnings(tree, known, as_of)]


def test_frost_on_open_bloom_is_announced():
    bloom = STAGES["full_bloom"].on
    (warning,) = weather_warnings(TREE, days(bloom, (-2.5, 9, 0)), bloom - timedelta(days=1))
    assert (warning.kind, warning.first) == ("frost_on_buds", bloom)
    assert f"-2.5 °C is due on {bloom}" in warning.text
    assert "-2.2 °C kills a tenth" in warning.text
    assert 0.1 < warning.amount < 0.9
    assert kinds(TREE, days(bloom, (-2.5, 9, 0)), bloom + timedelta(days=1)) == []


def test_wet_spell_matters_while_a_window_is_open():
    july = date(2026, 7, 10)
    wet = days(july, (12, 20, 4), (12, 20, 6), (12, 20, 2), (12, 22, 0))
    cutting = replace(TREE, cutting=((date(2026, 7, 1), date(2026, 8, 31)),))
    (warning,) = weather_warnings(cutting, wet, july)
    assert (warning.kind, warning.amount, warning.last) == ("wet_spell", 12.0, date(2026, 7, 12))
    assert kinds(TREE, wet, july) == []
    assert kinds(cutting, wet[:2], july) == []
    assert kinds(cutting, wet, date(2026, 7, 13)) == []


def test_heat_counts_earlier_for_young_trees():
    july = date(2026, 7, 10)
    hot = days(july, *[(18, 32, 9)] * 4)
    assert "heat" in kinds(replace(TREE, thirst=YOUNG), hot, july)
    old = replace(YOUNG, planted_on=date(2015, 3, 1))
    assert kinds(replace(TREE, thirst=old), hot, july) == []
    assert kinds(replace(TREE, thirst=old), days(july, *[(20, 36, 9)] * 3), july) == ["heat"]


def test_dry_weeks_ask_for_litres():
    first = date(2026, 6, 1)
    dry = days(first, *[(12, 24, 0)] * 30)
    found = weather_warnings(replace(TREE, thirst=YOUNG), dry, date(2026, 6, 25))
    (warning,) = [warning for warning in found if warning.kind == "drought"]
    assert warning.amount > 50
    assert f"Give {warning.amount:g} litres" in warning.text
    assert "drought" not in kinds(replace(TREE, thirst=YOUNG), days(first, *[(12, 24, 5)] * 30), date(2026, 6, 25))
    assert "drought" not in kinds(replace(TREE, thirst=YOUNG), dry, date(2026, 12, 25))
    old = replace(YOUNG, planted_on=date(2015, 3, 1))
    assert "drought" not in kinds(replace(TREE, thirst=old), dry, date(2026, 6, 25))


def test_southern_drought_comes_in_january():
    stages = stage_dates(HASTINGS, phenology_of("apple_spur"), 2025)
    tree = WatchedTree(
        place=HASTINGS,
        species="apple_spur",
        stages=stages,
        thirst=replace(YOUNG, planted_on=date(2025, 7, 20)),
    )
    dry = days(date(2025, 12, 20), *[(13, 26, 0)] * 30)
    assert "drought" in kinds(tree, dry, date(2026, 1, 15))


def test_missing_days_break_a_spell():
    known = [day for day in days(date(2026, 7, 1), *[(10, 20, 5)] * 7) if day.on.day != 4]
    found = spells(known, lambda day: (day.rain_mm or 0) > 1, 3)
    assert [(spell.first.day, spell.last.day) for spell in found] == [(1, 3), (5, 7)]


# The season's weather is shared between questions


def test_same_days_are_read_once_and_others_again():
    season, normals = Season(2026, is_southern=False), estimated_normals(LONDON)
    known = days(date(2025, 10, 1), *[(5, 12, 0)] * 60)
    first = season_weather(51.5, season, known, normals)
    assert season_weather(51.5, season, known, normals) is first
    assert season_weather(51.5, season, list(known), normals) is first
    assert season_weather(51.5, season, known, normals, as_of=date(2025, 10, 20)) is not first
    warmer = tuple(replace(day, tmax_c=20.0) for day in known)
    assert season_weather(51.5, season, warmer, normals) is not first


@pytest.mark.parametrize("years", [1, 30])
def test_days_of_other_seasons_change_nothing(years):
    known = days(date(2025, 10, 1), *[(5, 12, 0)] * 60)
    older = days(date(2025 - years, 1, 1), *[(-5, 0, 0)] * 150)
    apple = phenology_of("apple_spur")
    assert stage_dates(LONDON, apple, 2026, older + known) == stage_dates(LONDON, apple, 2026, known)
