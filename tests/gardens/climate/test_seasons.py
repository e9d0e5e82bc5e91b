"""Which days belong to which season, north and south."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.climate import Season, season_year


@pytest.mark.parametrize(
    ("on", "is_southern", "year"),
    [
        (date(2025, 10, 31), False, 2025),
        (date(2025, 11, 1), False, 2026),
        (date(2026, 5, 1), False, 2026),
        (date(2026, 4, 30), True, 2025),
        (date(2026, 5, 1), True, 2026),
        (date(2027, 1, 15), True, 2026),
    ],
)
def test_year_turns_when_the_leaves_fall(on, is_southern, year):
    assert season_year(on, is_southern=is_southern) == year


def test_northern_season_begins_in_the_old_year():
    season = Season(2026, is_southern=False)
    assert season.chill_from == date(2025, 9, 1)
    assert season.heat_from == date(2026, 1, 1)
    assert season.midsummer == date(2026, 7, 24)
    assert season.on(10, 31, autumn=True) == date(2026, 10, 31)


def test_southern_season_lies_half_a_year_later():
    season = Season(2026, is_southern=True)
    assert season.chill_from == date(2026, 3, 1)
    assert season.heat_from == date(2026, 7, 1)
    assert season.midsummer == date(2027, 1, 24)
    assert season.on(8, 31) == date(2027, 2, 28)
    assert season.on(12, 31, autumn=True) == date(2027, 6, 30)
