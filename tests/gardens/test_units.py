"""Lengths as people write and read them. Factors: 1 in = 25.4 mm, 1 ft = 304.8 mm (agreement of 1959, exact)."""

from __future__ import annotations

import pytest

from gardens.units import parse_length_mm, show_length


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("45 cm", 450),
        ("45", 450),
        ("1.2 m", 1200),
        ("1,2 m", 1200),
        ("18 in", 457),
        ('18"', 457),
        ("5 ft 3", 1600),
        ("5 ft 3 in", 1600),
        ("5' 3\"", 1600),
        ("0.5 in", 13),
        ("900 mm", 900),
    ],
)
def test_a_length_is_read_however_it_is_written(text, mm):
    assert parse_length_mm(text, default_unit="cm") == mm


@pytest.mark.parametrize("text", ["", "tall", "-4 cm", "4 furlongs", "1.500 m", "1,500", "9" * 40 + " cm", "4 cm 2"])
def test_what_is_no_length_is_refused_with_what_is_right(text):
    with pytest.raises(ValueError, match=r"write it as|known are|can be read as"):
        parse_length_mm(text, default_unit="cm")


@pytest.mark.parametrize(
    ("mm", "metric", "imperial"),
    [(450, "45 cm", "17½ in"), (1600, "160 cm", "5 ft 3 in"), (2500, "2.50 m", "8 ft 2½ in"), (3, "3 mm", "0 in")],
)
def test_a_length_is_shown_in_the_readers_units(mm, metric, imperial):
    assert (show_length(mm), show_length(mm, "imperial")) == (metric, imperial)


@pytest.mark.parametrize("mm", range(0, 4000, 37))
def test_shown_and_read_again_is_off_by_half_a_step_at_most(mm):
    assert abs(parse_length_mm(show_length(mm), default_unit="cm") - mm) <= 5
