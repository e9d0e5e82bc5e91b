"""What the office is told when a seen stage moves the needs."""

from __future__ import annotations

from datetime import date

from gardens.pruning import compare_needs, needs_for_season
from tests.gardens.pruning.trees import tree, year_of


def test_early_bloom_moves_what_hangs_on_it_by_as_many_days():
    usual = needs_for_season(tree(), year_of())
    early = needs_for_season(tree(), year_of(full_bloom=date(2026, 4, 23)))
    changes = compare_needs(usual, early)
    moved = {one.after.rule: one.days for one in changes.moved}

    assert moved["apple_spur/summer_prune"] == -9
    assert moved["apple/thin_fruit"] == -9
    assert "apple/winter_bark" not in moved
    assert changes.headline.endswith("earlier at most)")


def test_same_needs_say_that_nothing_moved():
    needs = needs_for_season(tree(), year_of())

    assert compare_needs(needs, needs).headline == "nothing moved"


def test_needs_that_come_and_go_are_told_apart():
    full, forming = needs_for_season(tree(), year_of()), needs_for_season(tree(stage="forming"), year_of())
    changes = compare_needs(full, forming)

    assert "winter_prune" in {need.kind for need in changes.vanished}
    assert "gone" in changes.headline
