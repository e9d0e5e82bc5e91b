"""Days of the tree's year as rules name them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gardens.knowledge.when import Frame, When, WhenError, month_day

NORTH, SOUTH = Frame(2026), Frame(2026, is_southern=True)
DAYS = {"leaf_fall": date(2025, 11, 20), "bud_swell": date(2026, 3, 10), "coldest_end": date(2026, 2, 7)}


def stage_day(anchor, away):
    return DAYS[anchor].replace(year=DAYS[anchor].year + away)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("leaf_fall+14d", date(2025, 12, 4)),
        ("bud_swell-2w", date(2026, 2, 24)),
        ("next:leaf_fall", date(2026, 11, 20)),
        ("prior:bud_swell", date(2025, 3, 10)),
        ("month:08-31", date(2026, 8, 31)),
        ("month:11-01", date(2025, 11, 1)),
        ("next:month:11-30", date(2026, 11, 30)),
        ("later(month:02-01, coldest_end)", date(2026, 2, 7)),
        ("earlier(month:02-01, coldest_end)", date(2026, 2, 1)),
        ("later(month:02-01+10d, coldest_end, bud_swell-60d)", date(2026, 2, 11)),
    ],
)
def test_expression_falls_on_the_day_it_names(text, expected):
    assert When.parse(text).on(NORTH, stage_day) == expected


@pytest.mark.parametrize(
    ("month", "day", "north", "south"),
    [
        (1, 15, date(2026, 1, 15), date(2026, 7, 15)),
        (8, 31, date(2026, 8, 31), date(2027, 2, 28)),
        (11, 1, date(2025, 11, 1), date(2026, 5, 1)),
        (12, 31, date(2025, 12, 31), date(2026, 6, 30)),
        (2, 28, date(2026, 2, 28), date(2026, 8, 31)),
    ],
)
def test_months_shift_by_half_a_year_in_the_south(month, day, north, south):
    assert month_day(NORTH, month, day) == north
    assert month_day(SOUTH, month, day) == south


@given(st.integers(1, 12), st.integers(1, 28), st.integers(1990, 2060))
def test_southern_day_lies_half_a_year_after_the_northern(month, day, year):
    gap = month_day(Frame(year, is_southern=True), month, day) - month_day(Frame(year), month, day)

    assert timedelta(days=178) <= gap <= timedelta(days=187)


@given(st.integers(1, 12), st.integers(1, 28), st.booleans())
def test_every_month_day_lies_in_its_frame(month, day, is_southern):
    frame = Frame(2026, is_southern)

    assert frame.opens <= month_day(frame, month, day) < frame.away(1).opens


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("leaf fall", "write a stage or month:MM-DD"),
        ("leaffall+3d", "leaf_fall"),
        ("month:13-01", "month:02-28"),
        ("month:02-30", "month:02-28"),
        ("later(month:02-01)", "coldest_end"),
        ("leaf_fall+3y", "leaf_fall+14d"),
        ("", "leaf_fall+14d"),
    ],
)
def test_unreadable_day_says_what_would_be_right(text, remedy):
    with pytest.raises(WhenError) as refusal:
        When.parse(text)

    assert remedy in refusal.value.remedy


def test_expression_names_the_stages_it_hangs_on():
    assert When.parse("later(month:02-01, coldest_end, bud_swell-14d)").stages == ("coldest_end", "bud_swell")
