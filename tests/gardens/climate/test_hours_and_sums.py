"""Hourly temperatures, chill and heat: what must hold for every input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.climate import (
    chill_portions,
    chilling_hours,
    day_length_hours,
    degree_days_average,
    degree_days_capped,
    degree_days_modified,
    degree_days_sine,
    degree_days_triangle,
    growing_degree_hours,
    hourly_temperatures,
    linear_degree_hours,
    positive_utah_units,
    utah_units,
)

pairs = st.lists(st.tuples(st.floats(-30, 35), st.floats(0, 25)), min_size=1, max_size=20)
latitudes = st.floats(-66, 66)


def hours_of(days, latitude=50.0, first_day=100):
    low = np.array([day[0] for day in days])
    high = low + np.array([day[1] for day in days])
    return hourly_temperatures(latitude, np.arange(len(days), dtype=float) + first_day, low, high), low, high


@given(pairs, latitudes)
@settings(deadline=None, max_examples=60)
def test_hours_stay_within_the_neighbouring_extremes(days, latitude):
    hours, low, high = hours_of(days, latitude)
    for index in range(len(days)):
        around = slice(max(0, index - 1), index + 2)
        assert hours[index].min() >= low[around].min() - 1e-9
        assert hours[index].max() <= high[around].max() + 1e-9


def test_maximum_comes_two_hours_after_noon():
    hours, _, high = hours_of([(5.0, 10.0)] * 3)
    assert hours[1].argmax() == 14
    assert hours[1].max() == pytest.approx(high[1])


def test_polar_days_have_the_mean_all_day():
    hours = hourly_temperatures(75.0, np.array([172.0]), np.array([2.0]), np.array([8.0]))
    assert hours.tolist() == [[5.0] * 24]
    assert day_length_hours(75.0, np.array([172.0, 355.0])).tolist() == [24.0, 0.0]


def test_many_years_at_once_equal_each_alone():
    random = np.random.default_rng(3)
    low = random.normal(3, 4, (3, 30))
    high = low + random.uniform(1, 12, (3, 30))
    days = np.arange(30.0) + 1
    together = hourly_temperatures(48.0, days, low, high)
    for row in range(3):
        np.testing.assert_allclose(together[row], hourly_temperatures(48.0, days, low[row], high[row]))
        np.testing.assert_allclose(
            chill_portions(together.reshape(3, -1))[row], chill_portions(together[row].reshape(-1)), atol=1e-12
        )


def test_rows_declared_alike_are_reckoned_the_same():
    random = np.random.default_rng(5)
    hours = np.repeat(random.normal(6, 4, 500)[None, :], 4, axis=0)
    hours[:, 300:] = random.normal(6, 4, (4, 200))
    np.testing.assert_allclose(chill_portions(hours, alike_hours=300), chill_portions(hours), atol=1e-12)


@given(st.lists(st.floats(-20, 30), min_size=1, max_size=200))
@settings(deadline=None, max_examples=60)
def test_chill_is_never_negative_nor_faster_than_the_hours(temperatures):
    hours = np.array(temperatures)
    assert (chill_portions(hours) >= 0).all()
    assert chill_portions(hours).sum() <= hours.size / 20
    assert ((positive_utah_units(hours) >= utah_units(hours)) & (utah_units(hours) <= 1)).all()
    assert chilling_hours(hours).sum() == sum(0 <= value <= 7.2 for value in temperatures)


def test_empty_and_single_hours_give_no_portion():
    assert chill_portions(np.array([])).size == 0
    assert chill_portions(np.array([5.0])).tolist() == [0.0]


@given(st.floats(-10, 25), st.floats(-10, 25))
def test_warmer_hours_never_give_less_heat_up_to_the_best(first, second):
    low, high = sorted((first, second))
    heat = growing_degree_hours(np.array([low, high]))
    assert heat[0] <= heat[1] + 1e-9
    assert linear_degree_hours(np.array([low, high]), 5.0).tolist() == [max(0.0, low - 5), max(0.0, high - 5)]


@given(st.floats(-20, 35), st.floats(0, 25), st.floats(-5, 15), st.floats(0.5, 25))
def test_degree_days_of_all_methods_keep_their_order(low, width, base, span):
    tmin, tmax, cap = np.array([low]), np.array([low + width]), base + span
    average = degree_days_average(tmin, tmax, base)[0]
    sine = degree_days_sine(tmin, tmax, base)[0]
    triangle = degree_days_triangle(tmin, tmax, base)[0]
    assert sine >= average - 1e-9
    assert triangle >= average - 1e-9
    assert 0 <= degree_days_sine(tmin, tmax, base, cap)[0] <= min(sine, cap - base) + 1e-9
    assert 0 <= degree_days_modified(tmin, tmax, base, cap)[0] <= cap - base + 1e-9


def test_capped_degree_days_shrink_in_great_heat():
    means = np.array([5.0, 12.0, 20.0, 26.0, 40.0])
    assert degree_days_capped(means, 7.0, 18.0, 24.0).tolist() == [0.0, 5.0, 11.0, 9.0, 0.0]
