"""From a filled board to visits: the days each may fall on, its best days, and what it takes along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduling.packing.board import Board, Item, Slot, is_open
from scheduling.packing.filling import Filling
from scheduling.packing.values import PackedVisit, PackNeed, PackRules

DAY = timedelta(days=1)


@dataclass(frozen=True)
class _Draft:
    """A visit whose span of days is still being worked out."""

    slot: Slot
    items: tuple[Item, ...]
    opens: date
    closes: date


def visits_from(
    parts: Sequence[tuple[Board, Filling]], needs: Sequence[PackNeed], rules: PackRules
) -> tuple[PackedVisit, ...]:
    """The visits of a filled board, by day; locked ones only where they take further needs along."""
    drafts = [_draft(slot, items, rules) for slot, items in _loads(parts)]
    drafts.sort(key=lambda draft: draft.slot.on)
    drafts = _keep_apart(drafts, rules)
    order = {need.id: place for place, need in enumerate(needs)}
    return tuple(_visit(draft, order, rules) for draft in drafts)


def _loads(parts: Sequence[tuple[Board, Filling]]) -> list[tuple[Slot, list[Item]]]:
    loads: dict[date, tuple[Slot, list[Item]]] = {}
    for board, filling in parts:
        for item, column in zip(board.items, filling.slot_of, strict=True):
            if column is not None:
                slot = board.slots[column]
                loads.setdefault(slot.on, (slot, []))[1].append(item)
    return list(loads.values())


def _draft(slot: Slot, items: Sequence[Item], rules: PackRules) -> _Draft:
    """The unbroken run of days round the chosen one on which the visit still does all its work."""
    if slot.locked:
        return _Draft(slot, tuple(items), slot.on, slot.on)
    opens = max(item.need.opens for item in items)
    closes = min(item.need.closes for item in items)
    minutes = sum(item.minutes for item in items)
    first = last = slot.on
    for step in (-DAY, DAY):
        day = slot.on + step
        while opens <= day <= closes:
            if is_open(day, rules):
                if rules.room_on(day) < minutes:
                    break
                first, last = min(first, day), max(last, day)
            elif _is_near_locked(day, rules):
                break
            day += step
    return _Draft(slot, tuple(items), first, last)


def _is_near_locked(day: date, rules: PackRules) -> bool:
    gap = max(1, rules.min_gap_days)
    return any(abs((day - visit.on).days) < gap for visit in rules.locked)


def _keep_apart(drafts: list[_Draft], rules: PackRules) -> list[_Draft]:
    """Cut the spans of neighbours so that any day of one keeps its distance from any day of the next."""
    gap = timedelta(days=max(1, rules.min_gap_days))
    for place in range(len(drafts) - 1):
        one, two = drafts[place], drafts[place + 1]
        if one.closes + gap <= two.opens:
            continue
        if two.slot.on - one.slot.on < gap:  # the work runs on to the next day: these two stay together
            drafts[place] = replace(one, closes=one.slot.on)
            drafts[place + 1] = replace(two, opens=two.slot.on)
            continue
        _, end_of_one = _best_days(one)
        start_of_two, _ = _best_days(two)
        middle = end_of_one + (start_of_two - gap - end_of_one) // 2
        cut = min(max(middle, one.slot.on), two.slot.on - gap)
        drafts[place] = replace(one, closes=min(one.closes, cut))
        drafts[place + 1] = replace(two, opens=max(two.opens, cut + gap))
    return drafts


def _best_days(draft: _Draft) -> tuple[date, date]:
    """First and last day of the span with the least distance from the best parts, added up over its needs."""
    days = [draft.opens + DAY * shift for shift in range((draft.closes - draft.opens).days + 1)]
    costs = [sum(item.days_off(day) for item in draft.items) for day in days]
    best = [day for day, cost in zip(days, costs, strict=True) if cost == min(costs)]
    return best[0], best[-1]


def _visit(draft: _Draft, order: dict[str, int], rules: PackRules) -> PackedVisit:
    draft = _on_open_days(draft, rules)
    best_from, best_until = _best_days(draft)
    needs = {item.need.id: item.need for item in draft.items}
    ids = tuple(sorted(needs, key=lambda need_id: order[need_id]))
    done = {need_id: sum(item.minutes for item in draft.items if item.need.id == need_id) for need_id in ids}
    return PackedVisit(
        key=draft.slot.locked.id if draft.slot.locked else draft.slot.on.isoformat(),
        on=draft.slot.on,
        opens=draft.opens,
        best_from=best_from,
        best_until=best_until,
        closes=draft.closes,
        need_ids=ids,
        minutes=sum(done.values()) + (0 if draft.slot.locked else rules.setup_minutes),
        skills=frozenset().union(*(need.skills for need in needs.values())),
        crew_size=max(need.crew_size for need in needs.values()),
        weather_rules=frozenset(need.weather_rule for need in needs.values() if need.weather_rule),
        locked_id=draft.slot.locked.id if draft.slot.locked else "",
        parts=tuple((need_id, done[need_id]) for need_id in ids if done[need_id] < needs[need_id].minutes),
    )


def _on_open_days(draft: _Draft, rules: PackRules) -> _Draft:
    """Let the span begin and end on days a visit may fall on."""
    if draft.slot.locked:
        return draft
    opens, closes = draft.opens, draft.closes
    while not is_open(opens, rules):
        opens += DAY
    while not is_open(closes, rules):
        closes -= DAY
    return replace(draft, opens=opens, closes=closes)
