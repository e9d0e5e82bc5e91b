"""Which needs go on which of the chosen days: cheapest first, moved on where a day is full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from scheduling.packing.board import VISIT, Board


@dataclass(frozen=True)
class Filling:
    """A packing on the board: per item the slot that serves it, or None. ``value`` ranks it, less is better."""

    value: int
    slot_of: tuple[int | None, ...]


def rate(board: Board, slot_of: Sequence[int | None]) -> Filling:
    """The filling with its value: lost needs, visits made, days off the best parts."""
    used = {slot for slot in slot_of if slot is not None and board.slots[slot].locked is None}
    cost = sum(
        item.lost if slot is None else board.off_rows[row][slot]
        for row, (item, slot) in enumerate(zip(board.items, slot_of, strict=True))
    )
    return Filling(cost + VISIT * len(used), tuple(slot_of))


def fill(board: Board, chain: Sequence[int], *, settled: bool = False) -> Filling:
    """Put every item on the best slot of the chain that still has room.

    Items that have most to lose by not getting their best slot choose first; where nothing is left an item already
    placed may step aside to another slot for it. ``settled`` lets pairs of items change places where that brings them
    nearer to their best parts. Exact where no slot overflows, else a good start.
    """
    work = _Work(board, chain)
    waiting = [row for row in work.order() if not work.place(row)]
    for row in sorted(waiting, key=lambda row: -board.items[row].minutes):
        if not work.place(row):
            work.make_room(row)
    while settled and work.settle():
        pass
    return rate(board, work.slot_of)


@dataclass
class _Work:
    board: Board
    chain: Sequence[int]
    held: dict[int, list[int]] = field(init=False)
    room: dict[int, int] = field(init=False)
    slot_of: list[int | None] = field(init=False)

    def __post_init__(self) -> None:
        self.held = {slot: [] for slot in self.chain}
        self.room = {slot: self.board.slots[slot].room for slot in self.chain}
        self.slot_of = [None] * len(self.board.items)

    def order(self) -> list[int]:
        """Rows by what they lose if their best slot is taken, then by size."""
        keys = []
        for row, item in enumerate(self.board.items):
            off = self.board.off_rows[row]
            costs = sorted([*(off[slot] for slot in self.chain), item.lost, item.lost])
            keys.append((costs[0] - costs[1], -item.minutes, row))
        return [row for _, _, row in sorted(keys)]

    def fits(self, row: int, slot: int, without: int | None = None) -> bool:
        """Whether the item still fits the slot, one of the items there left aside."""
        freed = self.board.items[without].minutes if without is not None else 0
        if self.board.items[row].minutes > self.room[slot] + freed:
            return False
        if not self.board.rules.crews:
            return True
        rest = [self.board.items[other] for other in self.held[slot] if other != without]
        return self.board.fits(self.board.slots[slot], [*rest, self.board.items[row]])

    def put(self, row: int, slot: int) -> None:
        self.held[slot].append(row)
        self.room[slot] -= self.board.items[row].minutes
        self.slot_of[row] = slot

    def take(self, row: int, slot: int) -> None:
        self.held[slot].remove(row)
        self.room[slot] += self.board.items[row].minutes
        self.slot_of[row] = None

    def place(self, row: int) -> bool:
        """Put the item on its cheapest slot with room; among equals on the fullest, so that larger items find room."""
        item, off = self.board.items[row], self.board.off_rows[row]
        able = [slot for slot in self.chain if off[slot] < item.lost and self.fits(row, slot)]
        if not able:
            return False
        self.put(row, min(able, key=lambda slot: (off[slot], self.room[slot], slot)))
        return True

    def make_room(self, row: int) -> None:
        """Let one placed item step aside so that this one finds a place, if that costs less than losing it."""
        off, rows = self.board.off_rows[row], self.board.off_rows
        best: tuple[int, int, int, int] | None = None
        for slot, held in self.held.items():
            if off[slot] >= self.board.items[row].lost:
                continue
            for other in held:
                if not self.fits(row, slot, without=other):
                    continue
                for refuge in self.chain:
                    cost = off[slot] + rows[other][refuge] - rows[other][slot]
                    limit = best[0] if best else self.board.items[row].lost
                    is_able = rows[other][refuge] < self.board.items[other].lost
                    if refuge != slot and is_able and cost < limit and self.fits(other, refuge):
                        best = (cost, slot, other, refuge)
        if best:
            _, slot, other, refuge = best
            self.take(other, slot)
            self.put(row, slot)
            self.put(other, refuge)

    def settle(self) -> bool:
        """One round of moves and changes of places that each bring items nearer to their best parts; False if none."""
        has_moved = False
        rows = self.board.off_rows
        for row, now in enumerate(self.slot_of):
            if now is None or rows[row][now] == 0:
                continue
            for slot in sorted(self.chain, key=lambda slot: rows[row][slot]):
                gain = rows[row][now] - rows[row][slot]
                if gain <= 0:
                    break
                if self.fits(row, slot):
                    self.take(row, now)
                    self.put(row, slot)
                    has_moved = True
                    break
                other = self._partner(row, now, slot, gain)
                if other is not None:
                    self.take(row, now)
                    self.take(other, slot)
                    self.put(row, slot)
                    self.put(other, now)
                    has_moved = True
                    break
        return has_moved

    def _partner(self, row: int, now: int, slot: int, gain: int) -> int | None:
        """An item of the better slot that loses less than is gained by changing places."""
        rows = self.board.off_rows
        for other in self.held[slot]:
            loss = rows[other][now] - rows[other][slot]
            is_able = rows[other][now] < self.board.items[other].lost
            if is_able and loss < gain and self.fits(row, slot, without=other) and self.fits(other, now, without=row):
                return other
        return None
