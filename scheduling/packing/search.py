"""Packing with a limit of minutes per visit: a dynamic programme over days and the needs still waiting.

A label stands for "the last visit was on slot p and these needs still wait"; a step makes the next visit on a slot q
and serves a set of the waiting needs there. Of two labels with the same slot and the same waiting needs only the
better lives; a label whose value plus a bound on the rest cannot beat the best packing known is dropped. The problem
contains bin packing and so has no known quick exact method: the number of labels is bounded, and the outcome says
whether the bound was reached.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product

from scheduling.packing.board import LOST, VISIT, Board
from scheduling.packing.filling import Filling, rate

MOST_CHOICES = 3_000
"""Sets of needs looked at for one visit; beyond that only promising ones are."""


@dataclass(frozen=True)
class Effort:
    """How hard to search.

    ``steps`` bounds the labels made and the sets of needs looked at, ``width`` the labels kept per slot (None: all),
    ``most_visits`` the new visits, ``slots`` the days looked at (None: all).
    """

    steps: int
    width: int | None = None
    most_visits: int | None = None
    slots: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class _Label:
    value: int
    visits: int
    waiting: int
    slot: int
    served: int
    before: _Label | None


@dataclass(frozen=True)
class Outcome:
    """The best packing found below the value given, if any, and whether the search was complete."""

    filling: Filling | None
    is_complete: bool


class Search:
    """One search over one board."""

    def __init__(self, board: Board, effort: Effort) -> None:
        self.board = board
        self.effort = effort
        self.is_complete = effort.slots is None
        self.steps_left = effort.steps
        self.lost = [item.lost for item in board.items]
        self.off = board.off_rows
        self.may_follow = board.may_follow.tolist()
        self.locks = [column for column, slot in enumerate(board.slots) if slot.locked]
        self.able = [
            sum(1 << row for row in range(len(self.lost)) if self.off[row][column] < self.lost[row])
            for column in range(len(board.slots))
        ]
        self._fits = lru_cache(maxsize=65_536)(self._work_out_fit)
        self._choices = lru_cache(maxsize=4096)(self._work_out_choices)
        self._rest = lru_cache(maxsize=65_536)(self._work_out_rest)

    def run(self, below: int) -> Outcome:
        """The best packing with a value under ``below``."""
        best: _Label | None = None
        waiting = (1 << len(self.lost)) - 1
        labels: list[dict[tuple[int, int], _Label]] = [{} for _ in self.board.slots]
        start = _Label(0, 0, waiting, -1, 0, None)
        for slot in range(-1, len(self.board.slots)):
            here = [start] if slot < 0 else self._narrow(list(labels[slot].values()))
            for label in here:
                if not any(lock > slot for lock in self.locks):
                    total = label.value + self._cost_of_losing(label.waiting)
                    if total < below:
                        below, best = total, label
                if label.value + self._rest(slot, label.waiting) >= below:
                    continue
                if self.steps_left <= 0:
                    self.is_complete = False
                    continue
                for step in self._steps(label, below):
                    self.steps_left -= 1
                    key = (step.waiting, step.visits if self.effort.most_visits is not None else 0)
                    known = labels[step.slot].get(key)
                    if known is None or step.value < known.value:
                        labels[step.slot][key] = step
        return Outcome(self._filling(best) if best else None, self.is_complete)

    def _narrow(self, labels: list[_Label]) -> list[_Label]:
        labels.sort(key=lambda label: label.value + self._rest(label.slot, label.waiting))
        width = self.effort.width
        if width is not None and len(labels) > width:
            self.is_complete = False
            return labels[:width]
        return labels

    def _steps(self, label: _Label, below: int) -> Iterator[_Label]:
        """Every next visit worth looking at."""
        chosen = self.effort.slots
        for slot in range(label.slot + 1, len(self.board.slots)):
            is_locked = self.board.slots[slot].locked is not None
            is_looked_at = chosen is None or slot in chosen
            if is_looked_at and (label.slot < 0 or self.may_follow[label.slot][slot]):
                visits = label.visits + (0 if is_locked else 1)
                most = self.effort.most_visits
                if most is None or visits <= most:
                    yield from self._serve(label, slot, visits, below)
            if is_locked:
                return
            dead = label.waiting & ~self._able_after[slot]
            if label.value + self._cost_of_losing(dead) >= below:
                return

    def _serve(self, label: _Label, slot: int, visits: int, below: int) -> Iterator[_Label]:
        is_locked = self.board.slots[slot].locked is not None
        value = label.value + (0 if is_locked else VISIT)
        for served in self._choices(slot, label.waiting & self.able[slot]):
            if not served and not is_locked:
                continue
            waiting = label.waiting & ~served
            cost = value + sum(self.off[row][slot] for row in _rows(served))
            if cost + self._rest(slot, waiting) < below:
                yield _Label(cost, visits, waiting, slot, served, label)

    def _work_out_choices(self, slot: int, open_now: int) -> tuple[int, ...]:
        """Sets of open needs that one visit can do and that no larger set makes pointless.

        A need past the start of its best part gains nothing by waiting, so a set that leaves such a need out though
        it would fit is dominated by the same set with it.
        """
        groups = self._groups(open_now)
        count = 1
        for group in groups:
            count *= len(group) + 1
        if count > MOST_CHOICES:
            self.is_complete = False
            return self._promising(slot, open_now)
        self.steps_left -= count
        found = []
        for counts in product(*(range(len(group) + 1) for group in groups)):
            served = 0
            for group, taken in zip(groups, counts, strict=True):
                for row in group[:taken]:
                    served |= 1 << row
            if self._fits(slot, served) and not self._leaves_ripe_work(slot, open_now, served):
                found.append(served)
        return tuple(found)

    def _groups(self, rows: int) -> list[list[int]]:
        groups: dict[tuple[object, ...], list[int]] = {}
        for row in _rows(rows):
            groups.setdefault(self.board.items[row].kind, []).append(row)
        return list(groups.values())

    def _leaves_ripe_work(self, slot: int, open_now: int, served: int) -> bool:
        day = self.board.slots[slot].on
        left = open_now & ~served
        return any(
            day >= self.board.items[row].need.best_from and self._fits(slot, served | 1 << row) for row in _rows(left)
        )

    def _promising(self, slot: int, open_now: int) -> tuple[int, ...]:
        """Greedy sets: work that closes soon, large work, and work not yet ripe by at most so many days."""
        day, found = self.board.slots[slot].on, set()
        items = self.board.items
        orders = (
            lambda row: (items[row].need.closes, -items[row].minutes),
            lambda row: (-items[row].minutes, items[row].need.closes),
            lambda row: (self.off[row][slot], items[row].need.closes, -items[row].minutes),
        )
        for early in (0, 7, 21, 366):
            ready = [row for row in _rows(open_now) if (items[row].need.best_from - day).days <= early]
            for order in orders:
                served = 0
                for row in sorted(ready, key=order):
                    if self._fits(slot, served | 1 << row):
                        served |= 1 << row
                found.add(served)
        return tuple(sorted(found))

    def _work_out_fit(self, slot: int, rows: int) -> bool:
        return self.board.fits(self.board.slots[slot], [self.board.items[row] for row in _rows(rows)])

    @cached_property
    def _able_after(self) -> list[int]:
        """Needs that some slot after this one can serve."""
        after, able = [0] * len(self.able), 0
        for slot in range(len(self.able) - 1, -1, -1):
            after[slot] = able
            able |= self.able[slot]
        return after

    @cached_property
    def _least_after(self) -> list[list[int]]:
        """Per slot and need the least cost on any later slot; index 0 stands for "before the first slot"."""
        least = [list(self.lost)]
        for slot in range(len(self.able) - 1, -1, -1):
            least.append([min(known, self.off[row][slot]) for row, known in enumerate(least[-1])])
        return list(reversed(least))

    def _work_out_rest(self, slot: int, waiting: int) -> int:
        """A bound on what the waiting needs will still cost after this slot."""
        least = self._least_after[slot + 1]
        cost, minutes, edge, pierced = 0, 0, None, 0
        for row in self._by_closing:
            if not waiting >> row & 1:
                continue
            cost += least[row]
            if self.board.items[row].need.is_optional or least[row] >= self.lost[row]:
                continue
            minutes += self.board.items[row].minutes
            first, last = self._ends[row]
            if edge is None or max(first, slot + 1) > edge:
                edge, pierced = last, pierced + 1
        helpers = [lock for lock in self.locks if lock > slot]
        room = minutes - sum(self.board.slots[lock].room for lock in helpers)
        visits = max(pierced - len(helpers), -(-room // self._most_room) if room > 0 else 0, 0)
        return cost + min(VISIT * visits, LOST)

    @cached_property
    def _most_room(self) -> int:
        return max([slot.room for slot in self.board.slots if not slot.locked], default=1)

    @cached_property
    def _by_closing(self) -> list[int]:
        return sorted(range(len(self.lost)), key=lambda row: self._ends[row][1])

    @cached_property
    def _ends(self) -> list[tuple[int, int]]:
        """First and last slot that can serve each need."""
        able = [[slot for slot, rows in enumerate(self.able) if rows >> row & 1] for row in range(len(self.lost))]
        return [(slots[0], slots[-1]) if slots else (-1, -1) for slots in able]

    def _cost_of_losing(self, rows: int) -> int:
        return sum(self.lost[row] for row in _rows(rows))

    def _filling(self, label: _Label) -> Filling:
        slot_of: list[int | None] = [None] * len(self.lost)
        at: _Label | None = label
        while at is not None and at.slot >= 0:
            for row in _rows(at.served):
                slot_of[row] = at.slot
            at = at.before
        return rate(self.board, slot_of)


def _rows(mask: int) -> Iterator[int]:
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
