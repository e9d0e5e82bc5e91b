"""The best days for a site if a visit could hold any amount of work: an exact dynamic programme, and a bound.

A need's cost over the days has one valley at ``best_from``, so among the chosen days only the last one up to that day
and the first one after it can serve it best. The cost of a chain of days is therefore a sum over neighbours:
cost(p, q) = Σ over needs with p ≤ best_from < q of the lesser of serving on p, on q, or not at all.
Leaving the limit of minutes out can only make packings better, so the result bounds the packing with the limit.
"""

from __future__ import annotations

import numpy as np

from scheduling.packing.board import Board, Costs

NEVER = np.int64(2**60)


class Relaxation:
    """Best chains of k new visits, k = 0, 1, 2 …, worked out as they are asked for."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.is_locked = np.array([slot.locked is not None for slot in board.slots], dtype=bool)
        self.locks = np.flatnonzero(self.is_locked)
        self.first, self.between, self.last = _neighbour_costs(board)
        if len(self.locks):
            self.first[self.locks[0] + 1 :] = NEVER
            self.last[: self.locks[-1]] = NEVER
        self._rows: list[Costs] = []
        self._came_from: list[Costs] = []

    def value(self, visits: int) -> int:
        """Least cost, lost needs included, of a chain with that many new visits; `NEVER` if there is none."""
        if visits == 0 and not len(self.locks):
            return sum(item.lost for item in self.board.items)
        if not self.board.slots:
            return int(NEVER)
        self._grow(visits)
        return min(int(NEVER), int((self._rows[visits] + self.last).min()))

    def chain(self, visits: int) -> tuple[int, ...]:
        """The slots of the best chain with that many new visits, locked ones among them."""
        if visits == 0 and not len(self.locks):
            return ()
        self._grow(visits)
        row, slot = visits, int((self._rows[visits] + self.last).argmin())
        chain = [slot]
        while (before := int(self._came_from[row][slot])) >= 0:
            row -= 0 if self.is_locked[slot] else 1
            slot = before
            chain.append(slot)
        return tuple(reversed(chain))

    def _grow(self, visits: int) -> None:
        while len(self._rows) <= visits:
            self._add_row()

    def _add_row(self) -> None:
        visits, count = len(self._rows), len(self.board.slots)
        row = np.full(count, NEVER, dtype=np.int64)
        came_from = np.full(count, -1, dtype=np.int64)
        if visits > 0:
            steps = self._rows[visits - 1][:, None] + self.between
            row = np.minimum(steps.min(axis=0), NEVER)
            came_from = np.where(row < NEVER, steps.argmin(axis=0), -1)
            if visits == 1:
                is_start = self.first < row
                row, came_from = np.where(is_start, self.first, row), np.where(is_start, -1, came_from)
            row[self.is_locked], came_from[self.is_locked] = NEVER, -1
        for lock in self.locks:
            steps_in = row + self.between[:, lock]
            best = int(steps_in.argmin())
            row[lock], came_from[lock] = min(steps_in[best], NEVER), best
            if visits == 0 and self.first[lock] < row[lock]:
                row[lock], came_from[lock] = self.first[lock], -1
        self._rows.append(row)
        self._came_from.append(came_from)


def _neighbour_costs(board: Board) -> tuple[Costs, Costs, Costs]:
    """Costs before the first slot of a chain, between neighbours, and after the last."""
    count = len(board.slots)
    first, last = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    between = np.zeros((count, count), dtype=np.int64)
    for (valley, _), off in _kinds(board).items():
        split = int(np.searchsorted(board.ordinals, valley, side="right"))
        first[split:] += off[split:]
        last[:split] += off[:split]
        between[:split, split:] += np.minimum(off[:split, None], off[None, split:])
    between[~board.may_follow] = NEVER
    return first, between, last


def _kinds(board: Board) -> dict[tuple[int, tuple[int, ...]], Costs]:
    """Cost rows of items with the same window added up: fewer, larger steps."""
    kinds: dict[tuple[int, tuple[int, ...]], Costs] = {}
    for item, off in zip(board.items, board.relaxed_off, strict=True):
        need = item.need
        window = (need.opens.toordinal(), need.best_until.toordinal(), need.closes.toordinal(), item.lost)
        key = (need.best_from.toordinal(), window)
        kinds[key] = kinds[key] + off if key in kinds else off
    return kinds
