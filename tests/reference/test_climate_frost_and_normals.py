"""Frost dates of Seattle and Klein-Altendorf, and the daily curve of monthly normals."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from gardens.climate import Reading, Readings, daily_normals, frost_dates, last_frost_odds, season_frosts, summarize
from gardens.climate.frost import day_numbers
from tests.gardens.climate.records import SEATTLE, load, seattle, seattle_normals

FROST = load("frost_normals.json")


@pytest.mark.parametrize(
    "case", load("vectors.json")["seattle_frost"], ids=lambda case: f"{case['year']}{case['threshold']}"
)
def test_seattle_frosts(case):
    first, last = date(case["year"], 1, 1), date(case["year"], 12, 31)
    found = frost_dates(seattle().readings, first, last, is_southern=False, threshold_c=case["threshold"])
    for ours, theirs in ((found.last, case["last_spring"]), (found.first, case["first_autumn"])):
        assert ours == (None if theirs is None else date.fromisoformat(theirs))


@pytest.mark.parametrize("site", FROST["frost"], ids=lambda site: f"{site['site']}{site['threshold']}")
def test_klein_altendorf_percentiles_of_thirty_years(site):
    """A record that holds nothing but the listed frosts must give the listed dates and percentiles back."""
    frosty = {date.fromisoformat(on) for on in (*site["last_spring"], *site["first_autumn"])}
    start = date(1961, 1, 1)
    days = (start + timedelta(days=step) for step in range((date(1991, 1, 1) - start).days))
    mild = site["threshold"] + 5
    readings = Readings(
        readings=tuple(
            Reading(on=on, tmin_c=site["threshold"] if on in frosty else mild, tmax_c=mild + 9) for on in days
        )
    )
    for is_spring, name in ((True, "last_spring"), (False, "first_autumn")):
        numbers = day_numbers(readings, is_southern=False, is_spring=is_spring, threshold_c=site["threshold"])
        assert numbers == [date.fromisoformat(on).timetuple().tm_yday for on in site[name]]
        for part, expected in site[f"{name}_doy_percentiles"].items():
            assert np.percentile(numbers, int(part)) == pytest.approx(expected, abs=0.05)
    odds = last_frost_odds(readings, is_southern=False, threshold_c=site["threshold"])
    assert odds.seasons == 30
    middle = date(1990, 1, 1) + timedelta(days=round(site["last_spring_doy_percentiles"]["50"]) - 1)
    assert odds.median == middle


def test_season_frosts_agree_with_the_span():
    for year, last, first in ((2012, (3, 19), (11, 10)), (2013, (3, 4), (11, 21)), (2014, (2, 9), (11, 12))):
        found = season_frosts(seattle(), year, is_southern=False)
        assert (found.last, found.first) == (date(year, *last), date(year, *first))


def test_daily_curve_of_monthly_normals():
    # Two harmonics on the month means, then a mean-preserving polyline; the 14 printed days agree to the digit.
    low, high = daily_normals(seattle_normals(), date(2023, 1, 1), 365)
    for day in FROST["normals"]["daily"]:
        assert low[day["doy"] - 1] == pytest.approx(day["tmin"], abs=0.001)
        assert high[day["doy"] - 1] == pytest.approx(day["tmax"], abs=0.001)


def test_smooth_curve_misjudges_chill_as_warned():
    """Sums over the smooth curve are off as listed; that is why stages are followed in noisy years."""
    listed = FROST["normals"]["comparison_normals_curve_vs_mean_of_real_winters"]
    first = date(2022, 12, 31)
    low, high = daily_normals(seattle_normals(), first, 367)
    readings = Readings(
        readings=tuple(
            Reading(on=first + timedelta(days=step), tmin_c=float(low[step]), tmax_c=float(high[step]))
            for step in range(367)
        )
    )
    year = summarize(readings, SEATTLE, date(2023, 1, 1), date(2023, 12, 31), 5.0)
    assert year.gdd == pytest.approx(listed["gdd5_year"][0], rel=0.001)
    assert year.gdh == pytest.approx(listed["gdh_year"][0], rel=0.001)
