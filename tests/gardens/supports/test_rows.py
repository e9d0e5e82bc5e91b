"""Rows that do not shade each other, on the level and on slopes, north and south of the line."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import radians, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from business.errors import BadInput
from gardens.supports import Rows, row_spacing, sun_hours_between
from gardens.supports.rows import shade_reaches_mm
from gardens.supports.sun import Sun
from tests.gardens.supports.stands import there

ROWS = Rows(height_mm=1800, latitude_deg=51.5, runs_deg=90, day=date(2025, 3, 21))


def test_noon_shade_is_height_over_the_tangent():
    noon = Sun(altitude_deg=38.5, bearing_deg=180)

    assert shade_reaches_mm(ROWS, 1000, noon) == pytest.approx(1800 - 1000 * tan(radians(38.5)))


def test_sun_in_line_with_the_row_throws_no_shade():
    assert shade_reaches_mm(replace(ROWS, runs_deg=0), 500, Sun(altitude_deg=20, bearing_deg=180)) == 0


def test_low_sun_wants_rows_further_apart():
    spring, summer = (
        there(row_spacing(replace(ROWS, day=day)).by_sun_mm) for day in (date(2025, 3, 21), date(2025, 6, 21))
    )
    north = there(row_spacing(replace(ROWS, latitude_deg=58)).by_sun_mm)

    assert summer < spring < north


def test_rows_stand_no_closer_than_they_are_high():
    # Common practice in orchards.
    found = row_spacing(replace(ROWS, day=date(2025, 6, 21)))

    assert there(found.by_sun_mm) < found.spacing_mm == 1800
    assert "no closer than they are high" in found.why


def test_slope_to_the_sun_lets_rows_stand_closer():
    # A row from west to east; what rises to its right rises to the south, away from the sun in the north of the world.
    to_sun, level, from_sun = (there(row_spacing(replace(ROWS, rises_percent=rise)).by_sun_mm) for rise in (-15, 0, 15))

    assert to_sun < level < from_sun


def test_southern_winter_mirrors_the_northern_one():
    north = row_spacing(replace(ROWS, latitude_deg=40, day=date(2025, 12, 21)))
    south = row_spacing(replace(ROWS, latitude_deg=-40, day=date(2025, 6, 21)))

    assert south.by_sun_mm == pytest.approx(north.by_sun_mm, abs=50)


def test_day_without_enough_sun_is_said_plainly():
    dark = row_spacing(replace(ROWS, latitude_deg=60, day=date(2025, 12, 21)))

    assert dark.by_sun_mm is None
    assert "No distance gives 6 h" in dark.why
    assert dark.spacing_mm == 1800


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.floats(-60, 60), st.floats(0, 359), st.integers(800, 8000), st.integers(800, 8000))
def test_wider_rows_never_get_less_sun(latitude, runs, one, other):
    rows = replace(ROWS, latitude_deg=latitude, runs_deg=runs)
    close, wide = sorted((one, other))

    assert sun_hours_between(rows, wide) >= sun_hours_between(rows, close)


def test_spacing_found_gives_the_hours_asked_for():
    found = row_spacing(ROWS, sun_hours=8)

    assert found.sun_h >= 8
    assert sun_hours_between(ROWS, there(found.by_sun_mm) - 50) < 8


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"latitude_deg": 95}, "no place for fruit"),
        ({"runs_deg": 400}, "is no bearing"),
        ({"height_mm": 0}, "is no row"),
        ({"lit_from_mm": 1800}, "less than the height"),
        ({"rises_percent": 80}, "-60 to 60 %"),
    ],
)
def test_rows_that_cannot_be_are_refused(changes, words):
    with pytest.raises(BadInput) as refusal:
        row_spacing(replace(ROWS, **changes))

    assert words in str(refusal.value)
