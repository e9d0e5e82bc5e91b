"""The numbers a phone gives its acts: 1, 2, 3 … without a gap, so that a missing one is noticed."""

from __future__ import annotations

from collections.abc import Iterable


def contiguous(known: int, numbers: Iterable[int]) -> int:
    """The highest number up to which nothing is missing, given that all up to ``known`` are here."""
    have = set(numbers)
    while known + 1 in have:
        known += 1
    return known


def gaps(known: int, numbers: Iterable[int]) -> list[int]:
    """The numbers still missing below the highest one seen."""
    have = {number for number in numbers if number > known}
    return [number for number in range(known + 1, max(have, default=known)) if number not in have]
