"""The packing of one site as numbers: which days a visit may fall on, which needs each day can serve, what it costs.

One whole number ranks packings: lost needs weigh above visits, visits above days off the best part (`LOST`, `VISIT`,
1 per day). Sums stay far inside 63 bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduling.packing.values import LockedVisit, PackNeed, PackRules

VISIT = 10**7
LOST = 10**12

Costs = NDArray[np.int64]


@dataclass(frozen=True)
class Item:
    """A need, or one part of a need that is split, on the board. ``lost`` is what leaving it out costs."""

    need: PackNeed
    minutes: int
    lost: int

    @property
    def kind(self) -> tuple[object, ...]:
        """Items of one kind are interchangeable."""
        need = self.need
        window = (need.opens, need.best_from, need.best_until, need.closes)
        return (*window, self.minutes, self.lost, need.skills, need.crew_size)

    def days_off(self, day: date) -> int:
        """Days between ``day`` and the best part."""
        if day < self.need.best_from:
            return (self.need.best_from - day).days
        return max(0, (day - self.need.best_until).days)


@dataclass(frozen=True)
class Slot:
    """A day a visit may fall on, with the minutes it has for needs."""

    on: date
    room: int
    locked: LockedVisit | None = None


@dataclass(frozen=True)
class Board:
    """Items × slots. Slots rise by day; locked slots must be part of every chain of visits."""

    items: tuple[Item, ...]
    slots: tuple[Slot, ...]
    rules: PackRules

    @cached_property
    def ordinals(self) -> Costs:
        """Day numbers of the slots."""
        return np.array([slot.on.toordinal() for slot in self.slots], dtype=np.int64)

    @cached_property
    def relaxed_off(self) -> Costs:
        """Cost of serving item n on slot i if a visit held any amount of work, at most the cost of losing it."""
        off = np.zeros((len(self.items), len(self.slots)), dtype=np.int64)
        days = self.ordinals
        for row, item in enumerate(self.items):
            need = item.need
            early, late = need.best_from.toordinal(), need.best_until.toordinal()
            cost = np.maximum(0, np.maximum(early - days, days - late))
            outside = (days < need.opens.toordinal()) | (days > need.closes.toordinal())
            off[row] = np.where(outside, item.lost, np.minimum(cost, item.lost))
        return off

    @cached_property
    def off(self) -> Costs:
        """Cost of serving item n on slot i, the cost of losing it where the slot cannot serve it."""
        off = self.relaxed_off.copy()
        for row, item in enumerate(self.items):
            for column, slot in enumerate(self.slots):
                if not self.fits(slot, (item,)):
                    off[row, column] = item.lost
        return off

    @cached_property
    def off_rows(self) -> list[list[int]]:
        """`off` as plain lists, for walking through one number at a time."""
        rows: list[list[int]] = self.off.tolist()
        return rows

    @cached_property
    def may_follow(self) -> NDArray[np.bool_]:
        """Whether a visit on slot j may be the next one after a visit on slot i."""
        count = len(self.slots)
        later = self.ordinals[None, :] - self.ordinals[:, None]
        allowed = later >= max(1, self.rules.min_gap_days)
        if self.rules.may_run_on and count > 1:
            steps = np.arange(count - 1)
            allowed[steps, steps + 1] = True
        is_locked = np.array([slot.locked is not None for slot in self.slots], dtype=bool)
        allowed |= (later > 0) & (is_locked[:, None] | is_locked[None, :])
        for lock in np.flatnonzero(is_locked):
            allowed[:lock, lock + 1 :] = False
        return allowed

    def fits(self, slot: Slot, items: Iterable[Item]) -> bool:
        """Whether one visit on the slot can do all these items: room, and one crew with the skills and hands."""
        room, skills, size = slot.room, frozenset[str](), 1
        if slot.locked:
            skills, size = slot.locked.skills, slot.locked.crew_size
        for item in items:
            room -= item.minutes
            skills |= item.need.skills
            size = max(size, item.need.crew_size)
        if room < 0:
            return False
        crews = self.rules.crews
        return not crews or any(skills <= crew.skills and size <= crew.size for crew in crews)


def lay_out(items: Sequence[Item], rules: PackRules) -> Board:
    """The board of these items: every open day one of them may be done on, and the locked visits with room."""
    wanted: set[date] = set()
    for item in items:
        days = (item.need.closes - item.need.opens).days + 1
        wanted |= {item.need.opens + timedelta(days=shift) for shift in range(days)}
    if rules.may_run_on and wanted:  # "the next open day" is told from the neighbour on the board
        wanted = {min(wanted) + timedelta(days=shift) for shift in range((max(wanted) - min(wanted)).days + 1)}
    takers = [visit for visit in rules.locked if visit.spare_minutes > 0 and visit.on in wanted]
    slots = [Slot(day, rules.room_on(day)) for day in wanted if is_open(day, rules)]
    slots += [Slot(visit.on, visit.spare_minutes, visit) for visit in takers]
    return Board(tuple(items), tuple(sorted(slots, key=lambda slot: slot.on)), rules)


def is_open(day: date, rules: PackRules) -> bool:
    """Whether a new visit may fall on that day: access, holidays, span, room, distance from locked visits."""
    if day.weekday() not in rules.weekdays or day in rules.blocked or rules.room_on(day) == 0:
        return False
    if (rules.not_before and day < rules.not_before) or (rules.not_after and day > rules.not_after):
        return False
    gap = max(1, rules.min_gap_days)
    return all(abs((day - visit.on).days) >= gap for visit in rules.locked)


def rooms_for(need: PackNeed, rules: PackRules) -> tuple[list[int], list[int]]:
    """Minutes on each day a new visit could do the need, and on each locked visit with room in its window."""
    days = [need.opens + timedelta(days=shift) for shift in range((need.closes - need.opens).days + 1)]
    new = [rules.room_on(day) for day in days if is_open(day, rules)]
    locked = [visit.spare_minutes for visit in rules.locked if need.opens <= visit.on <= need.closes]
    return new, [minutes for minutes in locked if minutes > 0]
