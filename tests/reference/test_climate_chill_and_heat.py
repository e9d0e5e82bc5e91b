"""Hourly temperatures, chill and heat against published formula values, chillR 0.77 and numeric integration.

Tolerances: the same hourly curve ± 1 hour or unit, ± 0.05 portions, ± 0.1 % of degree hours; chillR's own curve
± 2 %, ± 1 portion.
"""

from __future__ import annotations

import csv
from datetime import date

import numpy as np
import pytest

from gardens.climate import (
    chill_portions,
    chilling_hours,
    degree_days_average,
    degree_days_modified,
    degree_days_sine,
    degree_days_triangle,
    growing_degree_hours,
    hourly_series,
    hourly_temperatures,
    positive_utah_units,
    summarize,
    utah_units,
)
from tests.gardens.climate.records import DATA, SEATTLE, load, seattle

VECTORS = load("vectors.json")
POINTS = VECTORS["points"]


def test_linvill_hours_of_a_february_day():
    # Linvill (1990) in the form of chillR's documentation.
    example = VECTORS["hourly_example"]
    low = np.array([day["tmin"] for day in example["days"]])
    high = np.array([day["tmax"] for day in example["days"]])
    hours = hourly_temperatures(example["latitude"], np.array([40.0, 41.0, 42.0]), low, high)
    np.testing.assert_allclose(hours[1], example["hours_0_23"], atol=1e-4)


@pytest.mark.parametrize(
    ("curve", "points"),
    [(chilling_hours, POINTS["chill_hour"]), (utah_units, POINTS["utah"])],
    ids=["chilling hours", "Utah"],
)
def test_hourly_bins_are_those_published(curve, points):
    # Weinberger (1950), Bennett (1949); Richardson et al. (1974).
    for temperature, expected in points:
        assert curve(np.array([float(temperature)]))[0] == expected, temperature


def test_degree_hours_follow_the_asymmetric_curve():
    # Anderson, Richardson & Kesner (1986).
    for temperature, expected in POINTS["gdh"]:
        assert growing_degree_hours(np.array([float(temperature)]))[0] == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("temperature", "hours", "expected"), POINTS["dynamic_constant"])
def test_constant_cold_gives_known_portions(temperature, hours, expected):
    # Fishman et al. (1987), Erez et al. (1990); chillR's Dynamic_Model gives the same.
    assert chill_portions(np.full(hours, float(temperature))).sum() == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize("case", POINTS["dynamic_cycle"], ids=lambda case: f"{case['low']}-{case['high']}")
def test_warm_afternoons_add_or_undo_portions(case):
    day = [float(case["low"])] * case["low_h"] + [float(case["high"])] * case["high_h"]
    assert chill_portions(np.array(day * case["cycles"])).sum() == pytest.approx(case["portions"], abs=5e-4)


@pytest.mark.parametrize("winter", VECTORS["seattle_winters"], ids=lambda winter: winter["start"])
def test_seattle_winters_add_up(winter):
    series = hourly_series(seattle(), SEATTLE.latitude_deg)
    span = series.between(date.fromisoformat(winter["start"]), date.fromisoformat(winter["end"]))
    hours = series.hourly_c[span].reshape(-1)
    assert chilling_hours(hours).sum() == pytest.approx(winter["chill_hours"], abs=1)
    assert utah_units(hours).sum() == pytest.approx(winter["utah_units"], abs=1)
    assert chill_portions(hours).sum() == pytest.approx(winter["chill_portions"], abs=0.05)
    assert growing_degree_hours(hours).sum() == pytest.approx(winter["gdh"], rel=0.001)
    assert positive_utah_units(hours).sum() == pytest.approx(winter["positive_utah_hourly"], abs=1)
    daily = utah_units(hours).reshape(-1, 24).sum(axis=1)
    assert np.maximum(daily, 0).sum() == pytest.approx(winter["positive_utah_daily"], abs=1)
    if "chillR077" in winter:
        theirs = winter["chillR077"]
        assert chilling_hours(hours).sum() == pytest.approx(theirs["chill_hours"], rel=0.02)
        assert utah_units(hours).sum() == pytest.approx(theirs["utah_units"], rel=0.02)
        assert chill_portions(hours).sum() == pytest.approx(theirs["chill_portions"], abs=1.0)
        assert growing_degree_hours(hours).sum() == pytest.approx(theirs["gdh"], rel=0.02)


@pytest.mark.parametrize("case", VECTORS["cli_cases"], ids=lambda case: case["from"])
def test_whole_answers_for_seattle(case):
    summary = summarize(
        seattle(), SEATTLE, date.fromisoformat(case["from"]), date.fromisoformat(case["until"]), case["base"]
    )
    expected = case["expect"]
    assert (summary.days, summary.missing) == (expected["days"], expected["missing"])
    assert summary.chill_hours == pytest.approx(expected["chill_hours"], abs=1)
    assert summary.utah_units == pytest.approx(expected["utah_units"], abs=1)
    assert summary.chill_portions == pytest.approx(expected["chill_portions"], abs=0.05)
    assert summary.gdd == pytest.approx(expected["gdd"], abs=0.01)
    assert summary.gdh == pytest.approx(expected["gdh"], rel=0.001)
    for name in ("last_frost", "first_frost"):
        if name in expected:
            assert getattr(summary, name) == date.fromisoformat(expected[name])


@pytest.mark.parametrize("case", POINTS["gdd"], ids=lambda case: f"{case['tmin']}-{case['tmax']}-{case['base']}")
def test_degree_days_average_and_sine(case):
    # Baskerville & Emin (1969), checked by numeric integration.
    low, high = np.array([float(case["tmin"])]), np.array([float(case["tmax"])])
    assert degree_days_average(low, high, case["base"])[0] == case["average"]
    assert degree_days_sine(low, high, case["base"])[0] == pytest.approx(case["single_sine"], abs=1e-4)


@pytest.mark.parametrize("case", POINTS["gdd_capped"], ids=lambda case: f"{case['tmin']}-{case['tmax']}")
def test_degree_days_with_a_horizontal_cap(case):
    low, high = np.array([float(case["tmin"])]), np.array([float(case["tmax"])])
    assert degree_days_modified(low, high, case["base"], case["cap"])[0] == pytest.approx(case["modified"], abs=1e-4)
    sine = degree_days_sine(low, high, case["base"], case["cap"])[0]
    assert sine == pytest.approx(case["single_sine_horizontal"], abs=1e-4)


@pytest.mark.parametrize(
    ("low", "high", "base", "cap"), [(8, 22, 10, None), (-3, 13, 5, None), (8, 34, 10, 30), (2, 31, 4, 25)]
)
def test_sine_equals_the_area_under_its_curve(low, high, base, cap):
    angle = (np.arange(200_000) + 0.5) / 200_000 * 2 * np.pi
    curve = (low + high) / 2 + (high - low) / 2 * np.sin(angle)
    area = np.clip(curve, base, cap if cap is not None else np.inf).mean() - base
    ours = degree_days_sine(np.array([float(low)]), np.array([float(high)]), base, cap)[0]
    assert ours == pytest.approx(area, abs=1e-5)


@pytest.mark.parametrize(("low", "high", "base"), [(8, 22, 10), (-3, 13, 5), (12, 30, 10), (1, 4, 9)])
def test_triangle_equals_the_area_under_its_sides(low, high, base):
    side = low + (high - low) * (np.arange(200_000) + 0.5) / 200_000
    ours = degree_days_triangle(np.array([float(low)]), np.array([float(high)]), base)[0]
    assert ours == pytest.approx(np.maximum(side - base, 0).mean(), abs=1e-4)


def test_months_of_seattle_by_seven_methods():
    series = hourly_series(seattle(), SEATTLE.latitude_deg)
    low, high = series.tmin_c, series.tmax_c
    daily = {
        "gdd5_average": degree_days_average(low, high, 5.0),
        "gdd10_average": degree_days_average(low, high, 10.0),
        "gdd10_modified_30": degree_days_modified(low, high, 10.0, 30.0),
        "gdd10_single_sine": degree_days_sine(low, high, 10.0),
        "gdd10_single_sine_cap31.11": degree_days_sine(low, high, 10.0, 31.1111),
        "gdh_asymcur": growing_degree_hours(series.hourly_c).sum(axis=1),
    }
    with (DATA / "seattle_monthly.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 48
    for row in rows:
        first = date(int(row["year"]), int(row["month"]), 1)
        begin = (first - series.first).days
        for name, values in daily.items():
            total = values[begin : begin + int(row["days"])].sum()
            assert total == pytest.approx(float(row[name]), rel=0.001, abs=0.02), (first, name)
