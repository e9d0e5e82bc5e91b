"""Plan and reality over the years, and the sums plans are made with."""

from __future__ import annotations

from datetime import date

from gardens.training import plan_and_reality
from gardens.training.arithmetic import seasons_of_a_stem, trees_that_fit
from tests.gardens.training.trees import measured, of_form, seen, tree


def test_tree_without_records_is_its_own_plan():
    seasons = plan_and_reality(tree(), (), date(2031, 12, 1))
    assert [row.season for row in seasons] == [2026, 2027, 2028, 2029, 2030, 2031, 2032]
    assert all(row.length_mm == row.planned_mm for row in seasons)
    shares = [row.share_filled for row in seasons]
    assert shares == sorted(shares)
    assert not any(row.is_measured for row in seasons)


def test_slow_tree_falls_behind_its_plan():
    slow = [measured(date(2026 + years, 11, 20), "season_growth", 120, "tier:1") for years in range(3)]
    last = plan_and_reality(tree(), slow, date(2029, 12, 1))[-1]
    assert last.length_mm < last.planned_mm
    assert 0 < last.share_filled < last.planned_share < 1


def test_lost_arm_shows_as_a_gap():
    rows = plan_and_reality(tree(), [seen(date(2029, 6, 1), "lost", "arm:1:left")], date(2029, 12, 1))
    season = next(row for row in rows if row.season == 2029)
    assert season.length_mm < season.planned_mm
    assert season.tiers_set < season.planned_tiers_set


def test_cordon_is_compared_by_its_stem():
    (row,) = plan_and_reality(of_form("oblique_cordon"), (), date(2026, 10, 1))
    assert row.wanted_mm > row.length_mm > 1000


def test_trees_fit_by_their_spacing():
    assert trees_that_fit(10_000, 750) == 13
    assert trees_that_fit(500, 750) == 1


def test_stem_that_is_long_enough_needs_no_season():
    assert seasons_of_a_stem(1000, 1200, 300) == 0
    assert seasons_of_a_stem(2000, 1100, 300) == 3
