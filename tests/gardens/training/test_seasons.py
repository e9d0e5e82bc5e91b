"""The year of a tree."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.training import TrainingPractice
from gardens.training import seasons as year

days = st.dates(date(2000, 1, 1), date(2060, 12, 31))


@pytest.mark.parametrize(
    ("day", "southern", "season"),
    [
        (date(2026, 1, 15), False, 2026),
        (date(2025, 11, 1), False, 2026),
        (date(2025, 10, 31), False, 2025),
        (date(2026, 5, 1), True, 2026),
        (date(2026, 4, 30), True, 2025),
        (date(2027, 2, 1), True, 2026),
    ],
)
def test_season_is_named_after_its_spring(day: date, southern: bool, season: int):
    assert year.season_of(day, southern=southern) == season


@settings(deadline=None)
@given(days, st.booleans())
def test_days_of_a_season_lie_in_it(day: date, southern: bool):
    season = year.season_of(day, southern=southern)
    for month_day in (
        year.SEASON_STARTS,
        year.DORMANT_WORK_DONE,
        year.GROWTH_STARTS,
        year.GROWTH_ENDS,
        year.ARMS_LOWERED,
    ):
        assert year.season_of(year.day_of(season, month_day, southern=southern), southern=southern) == season
    assert list(year.work_days(season, southern=southern)) == sorted(year.work_days(season, southern=southern))


@settings(deadline=None)
@given(days, st.booleans())
def test_growth_never_shrinks_within_a_season(day: date, southern: bool):
    next_day = day + timedelta(days=1)
    if year.season_of(day, southern=southern) == year.season_of(next_day, southern=southern):
        assert year.share_grown(day, southern=southern) <= year.share_grown(next_day, southern=southern)


def test_growth_of_a_season_is_whole_by_its_end():
    assert year.share_grown(date(2026, 4, 15)) == 0
    assert year.share_grown(date(2026, 9, 1)) == 1
    assert year.share_grown(date(2026, 1, 1)) == 0
    assert year.share_grown(date(2027, 3, 1), southern=True) == 1


def test_pot_grown_tree_of_high_summer_waits_for_next_spring():
    assert year.first_season(date(2026, 5, 20)) == 2026
    assert year.first_season(date(2026, 7, 1)) == 2027
    assert year.first_season(date(2026, 12, 1)) == 2027


@pytest.mark.parametrize("wrong", [{"balance_trigger": 0}, {"full_share": 1.2}, {"renovation_seasons": 0}])
def test_practice_refuses_numbers_that_make_no_sense(wrong: dict[str, float]):
    with pytest.raises(ValueError, match=r"share|season"):
        TrainingPractice(**wrong)  # type: ignore[arg-type]
