"""How many visits a site needs at least, and the spans that prove it.

Needs whose whole window lies inside a span must be done there, and a visit holds only so many minutes. Spans that do
not overlap add up. With one need per span this is the textbook bound: disjoint windows need a visit each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scheduling.packing.board import Board, Item


@dataclass(frozen=True)
class Span:
    """Days, both inclusive, that call for a number of visits because of these items."""

    first: date
    last: date
    visits: int
    items: tuple[Item, ...]


def spans_that_need_visits(board: Board) -> tuple[Span, ...]:
    """Disjoint spans with the largest sum of visits; the sum is a lower bound for the new visits of the board."""
    # A locked visit with room could take any of the work inside its span, and room differs by day: reckon with the
    # largest, so that the bound stays a bound.
    firm = [item for item in board.items if not item.need.is_optional]
    rooms = [slot.room for slot in board.slots if slot.locked is None]
    if not firm or not rooms:
        return ()
    starts = sorted({item.need.opens for item in firm})
    ends = sorted({item.need.closes for item in firm})
    best: list[tuple[int, tuple[Span, ...]]] = []
    for last in ends:
        choice = best[-1] if best else (0, ())
        for first in (start for start in starts if start <= last):
            span = _span(board, firm, (first, last), max(rooms))
            before = _best_before(best, ends, first)
            if span.visits and before[0] + span.visits > choice[0]:
                choice = (before[0] + span.visits, (*before[1], span))
        best.append(choice)
    return best[-1][1]


def _best_before(
    best: Sequence[tuple[int, tuple[Span, ...]]], ends: Sequence[date], first: date
) -> tuple[int, tuple[Span, ...]]:
    done = sum(1 for end in ends[: len(best)] if end < first)
    return best[done - 1] if done else (0, ())


def _span(board: Board, firm: Sequence[Item], days: tuple[date, date], room: int) -> Span:
    first, last = days
    inside = tuple(item for item in firm if first <= item.need.opens and item.need.closes <= last)
    minutes = sum(item.minutes for item in inside)
    large = sum(1 for item in inside if 2 * item.minutes > room)
    visits = max(-(-minutes // room), large)
    takers = [slot for slot in board.slots if slot.locked and first <= slot.on <= last]
    if takers:
        rest = minutes - sum(slot.room for slot in takers)
        visits = max(0, -(-rest // room), large - len(takers))
    return Span(first, last, visits, inside)
