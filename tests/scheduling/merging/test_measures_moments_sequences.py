"""Measurements side by side, clocks that are wrong, numbers that are missing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.merging import Measurement, contiguous, gaps, merge_measurements, moment_of

TEN = datetime(2025, 1, 14, 10, 0, tzinfo=UTC)
NOON = TEN + timedelta(hours=2)


def measured(value: float, *, by: int, minute: int = 0, key: str = "") -> Measurement:
    return Measurement(key=key or f"{by}-{minute}-{value}", value=value, at=TEN + timedelta(minutes=minute), by=by)


def test_nothing_measured_gives_nothing():
    assert merge_measurements([]) is None


@pytest.mark.parametrize(("one", "two"), [(1000, 1050), (100, 150), (2000, 2200)])
def test_values_close_together_are_averaged(one, two):
    standing = merge_measurements([measured(one, by=1), measured(two, by=2, minute=1)])
    assert standing is not None
    assert (standing.value, standing.is_far_apart) == ((one + two) / 2, False)


@pytest.mark.parametrize(("one", "two"), [(100, 151), (2000, 2230)])
def test_of_values_far_apart_the_later_leads(one, two):
    standing = merge_measurements([measured(two, by=2, minute=1), measured(one, by=1)])
    assert standing is not None
    assert (standing.value, standing.is_far_apart) == (two, True)


def test_measuring_again_corrects_ones_own_value():
    standing = merge_measurements([measured(700, by=1), measured(1400, by=1, minute=3)])
    assert standing is not None
    assert (standing.value, standing.is_far_apart, len(standing.keys)) == (1400, False, 1)


@settings(deadline=None, max_examples=100)
@given(
    st.lists(st.builds(measured, st.floats(0, 5000), by=st.integers(1, 3), minute=st.integers(0, 9)), max_size=6),
    st.randoms(),
)
def test_the_order_of_measurements_changes_nothing(values, chance):
    shuffled = [*values, *values]
    chance.shuffle(shuffled)
    assert merge_measurements(shuffled) == merge_measurements(values)


def test_a_clock_three_hours_fast_is_set_right():
    moment = moment_of(TEN + timedelta(hours=3), received_at=NOON, offset_s=-3 * 3600)
    assert (moment.at, moment.flags) == (TEN, {"clock_off"})


def test_a_clock_that_was_never_checked_is_remarked():
    assert moment_of(TEN, received_at=NOON).flags == {"clock_unchecked"}


def test_nothing_happens_after_it_reached_us():
    moment = moment_of(NOON + timedelta(days=1), received_at=NOON, offset_s=0)
    assert (moment.at, moment.flags) == (NOON, {"from_the_future"})


def test_nothing_happens_before_the_round_was_fetched():
    moment = moment_of(TEN - timedelta(days=1), received_at=NOON, offset_s=0, pack_at=TEN)
    assert moment.flags == {"before_the_round"}


def test_the_repeated_hour_of_autumn_is_told_apart():
    """On 26 October 2025 clocks in London go back at 02:00 BST: 01:30 comes twice, an hour apart (EU/UK rule)."""
    first = datetime(2025, 10, 26, 1, 30, tzinfo=timezone(timedelta(hours=1)))
    second = datetime(2025, 10, 26, 1, 30, tzinfo=UTC)
    at = [moment_of(local, received_at=second + timedelta(hours=1), offset_s=0).at for local in (first, second)]
    assert at[1] - at[0] == timedelta(hours=1)


def test_a_moment_without_a_zone_is_a_mistake():
    with pytest.raises(ValueError, match="time zone"):
        moment_of(datetime(2025, 1, 14), received_at=NOON)  # noqa: DTZ001 - the point of the test


@pytest.mark.parametrize(
    ("known", "numbers", "up_to", "missing"),
    [
        (0, [], 0, []),
        (0, [1, 2, 3], 3, []),
        (0, [1, 3, 5], 1, [2, 4]),
        (4, [1, 5, 6], 6, []),
        (2, [9], 2, list(range(3, 9))),
    ],
)
def test_numbers_are_followed_up_to_the_first_gap(known, numbers, up_to, missing):
    assert contiguous(known, numbers) == up_to
    assert gaps(known, numbers) == missing
