"""Windows: in order, inside what was asked, never where something is closed; the same half a year later in the south."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.knowledge import load_knowledge
from gardens.knowledge.words import FORMS, PROFILES
from gardens.pruning import Closure, Window
from gardens.pruning.windows import DatedClosure, DatedTask, open_pieces, passes
from tests.gardens.pruning.trees import NORTH, SOUTH, season, year_of

SPECIES = load_knowledge().species
START = date(2026, 1, 1)
ANY_CLOSED = SPECIES["plum_european"].closed[0]

spans = st.lists(st.tuples(st.integers(0, 400), st.integers(0, 90)), max_size=6)


def closed(first: int, length: int) -> DatedClosure:
    opens = START + timedelta(days=first)
    return DatedClosure(
        ANY_CLOSED, Closure(opens=opens, closes=opens + timedelta(days=length), code="X", why="why", source="s")
    )


@given(st.integers(0, 300), st.integers(0, 120), spans)
def test_open_pieces_and_closed_spans_share_no_day(first, length, closures):
    opens, closes = START + timedelta(days=first), START + timedelta(days=first + length)
    shutting = [closed(*span) for span in closures]
    pieces = open_pieces(opens, closes, shutting)
    open_days = {start + timedelta(days=n) for start, end in pieces for n in range((end - start).days + 1)}
    asked = {opens + timedelta(days=n) for n in range(length + 1)}

    assert open_days == {day for day in asked if not any(one.shuts(day) for one in shutting)}


@given(st.integers(0, 300), st.integers(0, 60), st.integers(1, 6))
def test_passes_follow_each_other_and_fill_the_window(first, length, count):
    opens = START + timedelta(days=first)
    closes = opens + timedelta(days=length)
    parts = passes(Window(opens=opens, best_from=opens, best_until=closes, closes=closes, basis="normals"), count)

    assert (parts[0].opens, parts[-1].closes) == (opens, closes)
    assert all(later.opens == before.closes + timedelta(days=1) for before, later in pairwise(parts))
    assert len(parts) == min(count, length + 1)


@settings(max_examples=60, deadline=None)
@given(
    species=st.sampled_from(sorted(SPECIES)),
    form=st.sampled_from(FORMS),
    profile=st.sampled_from(PROFILES),
    southern=st.booleans(),
    bloom_shift=st.integers(-25, 25),
)
def test_windows_of_any_species_are_ordered_and_never_closed(species, form, profile, southern, bloom_shift):
    place = SOUTH if southern else NORTH
    bloom = date(2026, 10 if southern else 4, 20) + timedelta(days=bloom_shift)
    year = year_of(species, form, profile=profile, place=place, full_bloom=bloom)
    for dated in year.dated():
        for window in dated.windows:
            assert window.opens <= window.best_from <= window.best_until <= window.closes
            assert (window.closes - window.opens).days <= 366
            for closure in year.closures:
                if closure.closes(dated.task):
                    assert window.closes < closure.span.opens or window.opens > closure.span.closes
        assert (dated.best is None) == (not dated.windows)
        assert dated.best is not None or dated.why_none


@pytest.mark.parametrize("species", sorted(SPECIES))
def test_southern_windows_are_the_northern_half_a_year_later(species):
    for profile in PROFILES:
        north, south = year_of(species, "fan", profile=profile), year_of(species, "fan", profile=profile, place=SOUTH)
        for one, other in zip(north.dated(), south.dated(), strict=True):
            assert (one.best is None) == (other.best is None), one.task.id
            if one.best is not None and other.best is not None:
                for edge in ("opens", "best_from", "best_until", "closes"):
                    gap = (getattr(other.best, edge) - getattr(one.best, edge)).days
                    assert 176 <= gap <= 189, (one.task.id, edge, gap)


def best_of(dated: Iterable[DatedTask], task_id: str) -> Window:
    """The window a need would take."""
    best = next(one.best for one in dated if one.task.id == task_id)
    assert best is not None
    return best


def test_seen_stage_moves_the_window_and_marks_its_basis():
    usual = year_of("apple_spur").dated()
    early = year_of("apple_spur", full_bloom=date(2026, 4, 23)).dated()
    cut, moved = best_of(usual, "summer_prune"), best_of(early, "summer_prune")

    assert (cut.opens - moved.opens).days == 9
    assert (cut.basis, moved.basis) == ("normals", "weather")


def test_seen_terminal_bud_gives_an_observed_window():
    seen = year_of("apple_spur", terminal_bud=date(2026, 8, 10), shoot_ripe=date(2026, 8, 6)).dated()
    cut = best_of(seen, "summer_prune")

    assert (cut.opens, cut.basis) == (date(2026, 8, 10), "observed")


def test_window_that_closes_before_it_opens_says_so():
    late = year_of("apple_spur", leaf_fall=date(2026, 3, 20), full_bloom=date(2026, 4, 2)).dated()
    cut = next(dated for dated in late if dated.task.id == "winter_prune")

    assert cut.best is None
    assert "falls after" in cut.why_none


def test_leaf_fall_that_ends_the_season_belongs_to_the_next_winter():
    winter = year_of("apple_spur", leaf_fall=date(2025, 11, 5), next_leaf_fall=date(2026, 12, 1))

    assert best_of(winter.dated(), "winter_prune").opens == date(2025, 11, 19)
    assert best_of(winter.dated(1), "winter_prune").opens == date(2026, 12, 15)


def test_alike_sites_share_one_reckoned_year():
    assert year_of("apple_spur") is year_of("apple_spur", cultivar="Any Name")
    assert year_of("apple_spur") is not year_of("apple_spur", profile="mediterranean")
    assert season().key == season().key
