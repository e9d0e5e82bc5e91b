"""This year against the usual, what a site teaches, when to look for pests."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from business.errors import BadInput
from gardens.climate import (
    Place,
    inspection_dates,
    learned_phenology,
    phenology_of,
    season_chart,
    stage_dates,
    with_warmth,
)
from gardens.climate.inspections import read_inspections
from tests.gardens.climate.records import HASTINGS, LONDON, SEATTLE, seattle, seattle_normals, there

APPLE = phenology_of("apple_spur")


def test_chart_runs_beside_the_usual_year():
    chart = season_chart(SEATTLE, 2014, seattle().days, seattle_normals(), as_of=date(2014, 4, 15))
    assert chart.chill.days[0] == date(2013, 9, 1)
    assert chart.chill.days[len(chart.chill.this_year) - 1] == date(2014, 4, 15)
    assert chart.heat.days[0] == date(2014, 1, 1)
    assert chart.missing == 0
    for curve in (chart.chill, chart.heat):
        assert len(curve.usual) == len(curve.low) == len(curve.high) == len(curve.days)
        assert list(curve.usual) == sorted(curve.usual)
        assert list(curve.this_year) == sorted(curve.this_year)
        assert all(low <= usual <= high for low, usual, high in zip(curve.low, curve.usual, curve.high, strict=True))


def test_warm_year_is_ahead_of_the_usual():
    warm = [replace(day, tmin_c=day.tmin_c + 4, tmax_c=day.tmax_c + 4) for day in seattle().days]
    cold = [replace(day, tmin_c=day.tmin_c - 4, tmax_c=day.tmax_c - 4) for day in seattle().days]
    ahead = season_chart(SEATTLE, 2014, warm, seattle_normals(), as_of=date(2014, 4, 15)).heat.ahead_days
    behind = season_chart(SEATTLE, 2014, cold, seattle_normals(), as_of=date(2014, 4, 15)).heat.ahead_days
    assert there(ahead) > 7
    assert there(behind) < -7


def test_chart_without_weather_shows_the_usual_alone():
    chart = season_chart(HASTINGS, 2026)
    assert chart.chill.this_year == ()
    assert chart.heat.ahead_days is None
    assert chart.chill.days[0] == date(2026, 3, 1)


def test_chart_counts_missing_days():
    days = [day for day in seattle().days if not date(2014, 2, 1) <= day.on <= date(2014, 2, 20)]
    assert season_chart(SEATTLE, 2014, days, seattle_normals(), as_of=date(2014, 4, 15)).missing == 20


def test_site_that_blooms_early_is_learned():
    predicted = {
        year: stage_dates(SEATTLE, APPLE, year, seattle().days, seattle_normals())["full_bloom"].on
        for year in (2013, 2014, 2015)
    }
    early = {year: on - timedelta(days=8) for year, on in predicted.items()}
    learned = learned_phenology(SEATTLE, APPLE, early, seattle().days, seattle_normals())
    assert learned.used == (2013, 2014, 2015)
    assert learned.shift_gdh < 0
    for year, on in predicted.items():
        again = stage_dates(SEATTLE, learned.phenology, year, seattle().days, seattle_normals())["full_bloom"].on
        # Three sightings weigh as much as the species itself: about half of the eight days is learned.
        assert 2 <= (on - again).days <= 6


def test_known_shift_is_found_again():
    late = with_warmth(APPLE, 900)
    blooms = {
        year: stage_dates(SEATTLE, late, year, seattle().days, seattle_normals())["full_bloom"].on
        for year in (2013, 2014, 2015)
    }
    learned = learned_phenology(SEATTLE, APPLE, blooms, seattle().days, seattle_normals())
    assert learned.shift_gdh == pytest.approx(450, abs=120)


def test_seasons_without_weather_teach_nothing():
    learned = learned_phenology(
        SEATTLE, APPLE, {2010: date(2010, 4, 20), 2014: date(2013, 12, 1)}, seattle().days, seattle_normals()
    )
    assert (learned.used, learned.left_out, learned.shift_gdh) == ((), (2010, 2014), 0.0)
    assert learned.phenology == APPLE
    fig = phenology_of("fig")
    assert learned_phenology(SEATTLE, fig, {2014: date(2014, 5, 1)}, seattle().days).phenology == fig


def test_codling_moth_follows_bloom():
    stages = stage_dates(LONDON, APPLE, 2026)
    found = inspection_dates(LONDON, APPLE, stages, 2026)
    moth = [item for item in found if item.pest == "codling_moth"]
    assert [item.on for item in moth] == sorted(item.on for item in moth)
    assert moth[0].on >= stages["full_bloom"].on
    assert date(2026, 5, 25) <= moth[1].on <= date(2026, 7, 5)  # Britain: eggs hatch in June, common practice
    assert all(item.earliest <= item.on <= item.latest and item.do and item.source for item in found)
    assert "apple_maggot" not in {item.pest for item in found}


def test_american_pests_are_looked_for_in_america():
    geneva = Place(latitude_deg=42.9, longitude_deg=-77.0)
    found = inspection_dates(geneva, APPLE, stage_dates(geneva, APPLE, 2026), 2026)
    assert "apple_maggot" in {item.pest for item in found}
    assert inspection_dates(geneva, phenology_of("fig"), stage_dates(geneva, phenology_of("fig"), 2026), 2026) == ()


def test_catch_in_the_trap_replaces_bloom():
    stages = stage_dates(LONDON, APPLE, 2026)
    caught = {"codling_moth": stages["full_bloom"].on + timedelta(days=20)}
    plain = inspection_dates(LONDON, APPLE, stages, 2026)
    moved = inspection_dates(LONDON, APPLE, stages, 2026, caught=caught)
    assert next(i.on for i in moved if "hatch" in i.event) > next(i.on for i in plain if "hatch" in i.event)


def test_cool_summers_leave_the_second_brood_out():
    cold = Place(latitude_deg=59.9, longitude_deg=10.7, elevation_m=600)
    found = inspection_dates(cold, APPLE, stage_dates(cold, APPLE, 2026), 2026)
    assert not any("second brood hatch" in item.event for item in found)


def test_inspection_table_reports_every_fault():
    text = """
base_c = 10.0
cap_c = 31.1
[sources]
a = "b"
[[event]]
pest = "p"
name = "n"
groups = ["pome"]
from = "blossom"
dd_c = 1
plus_minus_dd_c = 1
do = "Look."
source = "c"
"""
    with pytest.raises(BadInput) as refusal:
        read_inspections(text, "mine.toml")
    assert [fault.wrong for fault in refusal.value.faults] == ["'blossom' is not a stage", "source 'c' is not listed"]
