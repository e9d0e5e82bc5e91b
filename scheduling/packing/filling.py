"""Which needs go on which of the chosen days: cheapest first, moved on where a day is full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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
        item.lost if slot is None else int(board.off[row, slot])
        for row, (item, slot) in enumerate(zip(board.items, slot_of, strict=True))
    )
    return Filling(cost + VISIT * len(used), tuple(slot_of))


def fill(board: Board, chain: Sequence[int]) -> Filling:
    """Put every item on the best slot of the chain that still has room.

    Items that have most to lose by not getting their best slot choose first; where nothing is left an item already
    placed may step aside to another slot for it. Exact where no slot overflows, else a good start.
    """
    held: dict[int, list[int]] = {slot: [] for slot in chain}
    slot_of: list[int | None] = [None] * len(board.items)
    waiting: list[int] = []
    for row in sorted(range(len(board.items)), key=lambda row: _urgency(board, chain, row), reverse=True):
        if not _place(board, row, held, slot_of):
            waiting.append(row)
    for row in waiting:
        if not _place(board, row, held, slot_of):
            _make_room(board, row, held, slot_of)
    return rate(board, slot_of)


def _urgency(board: Board, chain: Sequence[int], row: int) -> tuple[int, int]:
    """What an item loses if its best slot is taken, then its size."""
    lost = board.items[row].lost
    costs = sorted([*(int(board.off[row, slot]) for slot in chain), lost, lost])
    return costs[1] - costs[0], board.items[row].minutes


def _place(board: Board, row: int, held: dict[int, list[int]], slot_of: list[int | None]) -> bool:
    item = board.items[row]
    for slot in sorted(held, key=lambda slot: (int(board.off[row, slot]), slot)):
        if board.off[row, slot] >= item.lost:
            return False
        if board.fits(board.slots[slot], [*(board.items[other] for other in held[slot]), item]):
            held[slot].append(row)
            slot_of[row] = slot
            return True
    return False


def _make_room(board: Board, row: int, held: dict[int, list[int]], slot_of: list[int | None]) -> None:
    """Let one placed item step aside so that this one finds a place, if that costs less than losing it."""
    item, best = board.items[row], (board.items[row].lost, -1, -1, -1)
    for slot, rows in held.items():
        gain = int(board.off[row, slot])
        if gain >= item.lost:
            continue
        for other in rows:
            rest = [board.items[each] for each in rows if each != other]
            if not board.fits(board.slots[slot], [*rest, item]):
                continue
            for refuge in held:
                moved = [*(board.items[each] for each in held[refuge]), board.items[other]]
                change = gain + int(board.off[other, refuge]) - int(board.off[other, slot])
                if refuge != slot and change < best[0] and board.fits(board.slots[refuge], moved):
                    best = (change, slot, other, refuge)
    _, slot, other, refuge = best
    if slot >= 0:
        held[slot].remove(other)
        held[refuge].append(other)
        held[slot].append(row)
        slot_of[other], slot_of[row] = refuge, slot
