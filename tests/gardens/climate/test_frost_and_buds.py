"""Frost dates and their odds, and frost on opening buds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.errors import BadInput
from gardens.climate import (
    CriticalTemperatures,
    DailyWeather,
    Reading,
    Readings,
    chance_of_frost_after,
    critical_temperatures,
    first_frost_odds,
    frost_risks,
    is_full_crop_possible,
    last_frost_odds,
    phenology_of,
    season_frosts,
    stage_dates,
    surviving,
)
from gardens.climate.buds import read_critical_temperatures
from tests.gardens.climate.records import LONDON, seattle, there

STAGES = stage_dates(LONDON, phenology_of("apple_spur"), 2026)


def record(first_year, years, frosts, *, south=False):
    """Years of mild days with the frosts of each year, given as (month, day)."""
    start = date(first_year, 1, 1)
    days = (date(first_year + years + (1 if south else 0), 1, 1) - start).days
    frosty = {date(year, month, day) for year, month, day in frosts}
    return Readings(
        readings=tuple(
            Reading(on=on, tmin_c=-1.0 if on in frosty else 6.0, tmax_c=14.0)
            for on in (start + timedelta(days=step) for step in range(days))
        )
    )


def test_odds_follow_the_calendar_of_twenty_years():
    frosts = [(2000 + year, 4, 1 + year) for year in range(20)] + [(2000 + year, 10, 30 - year) for year in range(20)]
    readings = record(2000, 20, frosts)
    spring, autumn = last_frost_odds(readings, is_southern=False), first_frost_odds(readings, is_southern=False)
    assert (spring.early, spring.median, spring.late) == (date(2019, 4, 3), date(2019, 4, 10), date(2019, 4, 18))
    assert there(autumn.early) < there(autumn.median) < there(autumn.late) <= date(2019, 10, 30)
    assert (spring.seasons, spring.without_frost) == (20, 0)


def test_few_years_give_a_middle_but_no_tenths():
    readings = record(2000, 12, [(2000 + year, 4, 10) for year in range(12)])
    odds = last_frost_odds(readings, is_southern=False)
    assert (odds.early, odds.median, odds.late) == (None, date(2011, 4, 10), None)
    assert last_frost_odds(record(2000, 4, [(2000, 4, 10)]), is_southern=False).median is None


def test_years_without_frost_are_counted_apart():
    readings = record(2000, 20, [(2000 + year, 3, 15) for year in range(0, 20, 2)])
    odds = last_frost_odds(readings, is_southern=False)
    assert odds.without_frost > 0
    assert chance_of_frost_after(readings, 3, 10, is_southern=False) == pytest.approx(0.5)
    assert chance_of_frost_after(readings, 3, 20, is_southern=False) == 0.0
    assert chance_of_frost_after(Readings(readings=()), 3, 20, is_southern=False) is None


def test_southern_odds_run_from_july():
    frosts = [(2000 + year, 9, 1 + year % 20) for year in range(22)] + [
        (2000 + year, 5, 3 + year) for year in range(22)
    ]
    readings = record(2000, 22, frosts, south=True)
    spring, autumn = last_frost_odds(readings, is_southern=True), first_frost_odds(readings, is_southern=True)
    assert there(spring.median).month == 9
    assert there(autumn.median).month == 5
    found = season_frosts(readings, 2005, is_southern=True)
    assert (found.last, found.first) == (date(2005, 9, 6), date(2006, 5, 9))


def test_half_season_with_many_missing_days_says_nothing():
    hole = [date(2013, 1, 5) + timedelta(days=step) for step in range(170)]
    readings = Readings(readings=tuple(r for r in seattle().readings if r.on not in hole))
    assert season_frosts(readings, 2013, is_southern=False).last is None
    assert season_frosts(seattle(), 2013, is_southern=False).last == date(2013, 3, 4)
    assert (
        last_frost_odds(readings, is_southern=False).seasons
        == last_frost_odds(seattle(), is_southern=False).seasons - 1
    )


# Buds


def night(on, tmin):
    return DailyWeather(on=on, tmin_c=tmin, tmax_c=10.0)


@given(st.floats(-25, 5), st.floats(-25, 5))
def test_colder_nights_never_kill_fewer_buds(first, second):
    marks = CriticalTemperatures(name="full bloom", tenth_c=-2.2, most_c=-3.9)
    colder, warmer = sorted((first, second))
    assert 0 <= marks.lost(warmer) <= marks.lost(colder) <= 1


def test_bloom_dies_between_its_two_marks():
    # Check case of the species rules: -2.5 °C on full bloom lies between the marks -2.2 and -3.9.
    (risk,) = frost_risks("apple_spur", STAGES, [night(STAGES["full_bloom"].on, -2.5)])
    assert (risk.stage, risk.temperatures.tenth_c, risk.temperatures.most_c) == ("full bloom", -2.2, -3.9)
    assert 0.1 < risk.expected_loss < 0.9
    assert risk.needs_inspection
    assert risk.source


def test_alarm_rings_a_degree_before_the_table():
    bloom = STAGES["full_bloom"].on
    assert frost_risks("apple_spur", STAGES, [night(bloom, -1.3)])[0].expected_loss == 0.0
    assert frost_risks("apple_spur", STAGES, [night(bloom, -1.0)]) == ()
    assert frost_risks("apple_spur", STAGES, [night(bloom, -2.0)], is_at_wall=True) == ()
    assert frost_risks("apple_spur", STAGES, [night(bloom, -3.0)], is_at_wall=True)[0].expected_loss == 0.0


def test_closed_buds_and_grown_fruit_are_safe():
    swell, late = STAGES["bud_swell"].on, STAGES["petal_fall"].on + timedelta(days=29)
    assert frost_risks("apple_spur", STAGES, [night(swell - timedelta(days=1), -15.0), night(late, -4.0)]) == ()
    assert critical_temperatures("medlar", STAGES, STAGES["full_bloom"].on) is not None
    assert critical_temperatures("olive", STAGES, STAGES["full_bloom"].on) is None


def test_temperatures_slide_between_the_stages():
    first, last = STAGES["bud_burst"].on, STAGES["first_leaves"].on
    middle, _ = there(critical_temperatures("apple_spur", STAGES, first + (last - first) / 2))
    assert -7.8 < middle.tenth_c < -5.0


@pytest.mark.parametrize(
    "species",
    [
        "apple_spur",
        "pear_european",
        "pear_asian",
        "peach",
        "nectarine",
        "apricot",
        "almond",
        "plum_european",
        "plum_japanese",
        "cherry_sweet",
        "cherry_sour",
        "grape",
        "quince",
        "medlar",
    ],
)
def test_buds_grow_more_tender_from_swell_to_bloom(species):
    stages = stage_dates(LONDON, phenology_of(species), 2026)
    days = [stages["bud_swell"].on + timedelta(days=step) for step in range(120)]
    marks = [found[0].tenth_c for day in days if (found := critical_temperatures(species, stages, day))]
    assert marks == sorted(marks)
    assert len(marks) > 30


def test_survivors_of_several_nights_multiply():
    bloom = STAGES["full_bloom"].on
    risks = frost_risks("apple_spur", STAGES, [night(bloom, -2.5), night(bloom + timedelta(days=1), -3.0)])
    assert surviving(risks) == pytest.approx((1 - risks[0].expected_loss) * (1 - risks[1].expected_loss))
    assert surviving(()) == 1.0


def test_cherries_need_more_buds_than_apples():
    # Utah State University Extension IPM-012-11: over half in cherry, 10 to 15 % in apple, pear and peach.
    assert is_full_crop_possible("cherry_sweet", 0.4) is False
    assert is_full_crop_possible("apple_spur", 0.15) is True
    assert is_full_crop_possible("grape", 0.9) is None


def test_stage_seen_early_moves_the_danger():
    early = STAGES["full_bloom"].on - timedelta(days=12)
    seen = stage_dates(LONDON, phenology_of("apple_spur"), 2026, observed={"full_bloom": early})
    frost = [night(early, -2.5)]
    assert frost_risks("apple_spur", seen, frost)[0].expected_loss > 0
    assert frost_risks("apple_spur", replace_all(STAGES), frost) == ()


def replace_all(stages):
    """The same stages three weeks later."""
    step = timedelta(days=21)
    return {
        key: replace(dated, on=dated.on + step, earliest=dated.earliest + step, latest=dated.latest + step)
        for key, dated in stages.items()
    }


def test_bud_table_reports_every_fault():
    text = """
[sources]
a = "b"
[[crop]]
id = "apple"
species = ["apple_spur"]
source = "c"
rows = [
  { name = "x", at = "blossom", tenth = -2.0, most = -1.0 },
  { name = "y", from = "bud_swell", share = 0.5, tenth = -2.0, most = -3.0 },
]
"""
    with pytest.raises(BadInput) as refusal:
        read_critical_temperatures(text, "mine.toml")
    said = [str(fault).split(" (")[0] for fault in refusal.value.faults]
    assert said == [
        "mine.toml, apple: source 'c' is not listed",
        "mine.toml, apple, x: 'blossom' is not a stage",
        "mine.toml, apple, x: nine tenths die no colder than one tenth",
        "mine.toml, apple, y: None is not a stage",
    ]
