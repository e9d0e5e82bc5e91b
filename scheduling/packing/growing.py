"""A good packing where visits are full: days added where work is left over, taken out or shifted where that helps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from scheduling.packing.board import LOST, Board
from scheduling.packing.filling import Filling, fill

STEPS_PER_TRY = 50
"""Of the effort of the rules one chain of days costs that much."""
SHIFTS = (-1, 1, -2, 2, -4, 4, -8, 8)
LEFT_OVER_LOOKED_AT = 6
"""Needs left over whose days are tried for the next visit."""


def grow(board: Board, chain: Sequence[int], most_visits: int | None, good_enough: int) -> Filling:
    """The best filling found by local changes to the chain, ended early at a value that nothing can beat."""
    return _Gardener(board, most_visits, good_enough).run(tuple(chain))


class _Gardener:
    def __init__(self, board: Board, most_visits: int | None, good_enough: int) -> None:
        self.board, self.most_visits, self.good_enough = board, most_visits, good_enough
        self.tries_left = max(20, board.rules.effort // STEPS_PER_TRY)
        self.seen: dict[tuple[int, ...], Filling] = {}
        self.is_locked = [slot.locked is not None for slot in board.slots]
        self.may_follow = board.may_follow.tolist()

    def run(self, chain: tuple[int, ...]) -> Filling:
        best = self._fill(chain)
        while not self._is_done(best):
            better = self._first_better(chain, best)
            if better is None:
                break
            chain = better
            best = self.seen[chain]
        return min(best, fill(self.board, chain, settled=True), key=lambda filling: filling.value)

    def _is_done(self, best: Filling) -> bool:
        return best.value <= self.good_enough or self.tries_left <= 0

    def _first_better(self, chain: tuple[int, ...], best: Filling) -> tuple[int, ...] | None:
        """The best of the growing steps while work is left over, else the first step of any kind that helps."""
        if best.value >= LOST:
            grown = [(self._fill(each).value, each) for each in self._grown(chain, best)]
            if grown and min(grown)[0] < best.value:
                return min(grown)[1]
        for candidate in (*self._trimmed(chain), *self._shifted(chain)):
            if self._fill(candidate).value < best.value:
                return candidate
            if self.tries_left <= 0:
                return None
        return None

    def _fill(self, chain: tuple[int, ...]) -> Filling:
        if chain not in self.seen:
            self.tries_left -= 1
            self.seen[chain] = fill(self.board, chain)
        return self.seen[chain]

    def _grown(self, chain: tuple[int, ...], best: Filling) -> Iterator[tuple[int, ...]]:
        """The chain with one day more, on a day that could serve something left over."""
        new = sum(1 for slot in chain if not self.is_locked[slot])
        if self.most_visits is not None and new >= self.most_visits:
            return
        left = [row for row, slot in enumerate(best.slot_of) if slot is None]
        left.sort(key=lambda row: (-self.board.items[row].lost, -self.board.items[row].minutes))
        wanted: dict[int, None] = {}
        for row in left[:LEFT_OVER_LOOKED_AT]:
            off, lost = self.board.off_rows[row], self.board.items[row].lost
            able = [slot for slot in range(len(off)) if off[slot] < lost and slot not in chain]
            fitting = [slot for slot in able if self._is_chain(tuple(sorted((*chain, slot))))]
            wanted.update(dict.fromkeys(sorted(fitting, key=lambda slot: off[slot])[:8]))
        for slot in wanted:
            yield tuple(sorted((*chain, slot)))

    def _trimmed(self, chain: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        for slot in chain:
            rest = tuple(each for each in chain if each != slot)
            if not self.is_locked[slot] and self._is_chain(rest):
                yield rest

    def _shifted(self, chain: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        for slot in chain:
            if self.is_locked[slot]:
                continue
            for shift in SHIFTS:
                moved = slot + shift
                if 0 <= moved < len(self.board.slots) and moved not in chain and not self.is_locked[moved]:
                    shifted = tuple(sorted((*(each for each in chain if each != slot), moved)))
                    if self._is_chain(shifted):
                        yield shifted

    def _is_chain(self, chain: tuple[int, ...]) -> bool:
        return all(self.may_follow[one][two] for one, two in pairwise(chain))
