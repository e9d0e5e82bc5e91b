"""Fewest visits to a site that serve all windows, then least distance from the best parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduling.packing.account import account_for, proof_of, unserved_for, why_hopeless
from scheduling.packing.board import LOST, VISIT, Board, Item, lay_out, rooms_for
from scheduling.packing.bounds import Span, spans_that_need_visits
from scheduling.packing.filling import Filling
from scheduling.packing.growing import grow
from scheduling.packing.relaxation import NEVER, Relaxation
from scheduling.packing.search import Effort, Search
from scheduling.packing.values import Packing, PackNeed, PackRules, Unserved
from scheduling.packing.visits import visits_from

LOOKED_AT_FIRST = 28
"""Days the first, narrow search looks at."""
KEPT_FIRST = 12
"""Labels it keeps per day."""
MOST_SEARCHED = 40
"""Needs that touch each other beyond which no search would end in time."""


@dataclass(frozen=True)
class Solved:
    """A packed board: what goes where, whether nothing better exists, and the spans that bound the visits."""

    board: Board
    filling: Filling
    is_proved: bool
    spans: tuple[Span, ...]
    fewest: int


def pack_site(needs: Sequence[PackNeed], rules: PackRules) -> Packing:
    """Lay the needs of one site into visits.

    Exact in this order: fewest lost needs (by importance), fewest new visits, least sum of days off the best parts,
    where an optional need left out counts ``rules.optional_worth_days``. Every need is either in a visit or listed as
    unserved with its reason.

    Raises:
        ValueError: two needs, or two locked visits, with the same id.
    """
    for ids in ([need.id for need in needs], [visit.id for visit in rules.locked]):
        if len(ids) != len(set(ids)):
            raise ValueError("ids must differ")
    promised = {need_id for visit in rules.locked for need_id in visit.need_ids}
    open_needs = sorted((need for need in needs if need.id not in promised), key=lambda need: (need.closes, need.id))
    unserved: list[Unserved] = []
    items: list[Item] = []
    for need in open_needs:
        hopeless = why_hopeless(need, rules)
        if hopeless:
            unserved.append(hopeless)
        else:
            items += _parts(need, rules)
    solved = _solve_parts(items, rules)
    visits = visits_from([(part.board, part.filling) for part in solved], needs, rules)
    unserved += unserved_for([(part.board, part.filling) for part in solved], visits, rules)
    return Packing(
        visits=visits,
        unserved=tuple(unserved),
        account=account_for(visits, needs, rules),
        proof=proof_of(solved_spans(solved), rules),
        days_off_best=sum(_days_off(part) for part in solved),
        is_proved=all(part.is_proved for part in solved),
        fewest_visits=sum(part.fewest for part in solved),
    )


def solved_spans(solved: Sequence[Solved]) -> tuple[Span, ...]:
    """The spans of all parts that bound the number of visits."""
    return tuple(span for part in solved for span in part.spans)


def _days_off(part: Solved) -> int:
    pairs = zip(part.board.items, part.filling.slot_of, strict=True)
    return sum(item.days_off(part.board.slots[slot].on) for item, slot in pairs if slot is not None)


def _parts(need: PackNeed, rules: PackRules) -> list[Item]:
    """The need as one item, or as day-long parts if it is longer than a visit and may be split."""
    lost = rules.optional_worth_days if need.is_optional else LOST * need.importance
    new, locked = rooms_for(need, rules)
    if need.minutes <= max([*new, *locked]):
        return [Item(need, need.minutes, lost)]
    # Parts as long as the shortest open day, so that each fits any day of the window.
    longest = min(new or locked)
    full, rest = divmod(need.minutes, longest)
    return [Item(need, longest, lost)] * full + ([Item(need, rest, lost)] if rest else [])


def _solve_parts(items: Sequence[Item], rules: PackRules) -> list[Solved]:
    """Solve stretches of the season that cannot touch each other one by one, unless a limit of visits ties them."""
    solved = [_solve(lay_out(part, rules), None) for part in _stretches(items, rules)]
    if rules.max_visits is None:
        return solved
    limit = max(0, rules.max_visits - len(rules.locked))
    if sum(_new_visits(part) for part in solved) <= limit:
        return solved
    return [_solve(lay_out(items, rules), limit)]


def _new_visits(part: Solved) -> int:
    used = {slot for slot in part.filling.slot_of if slot is not None}
    return sum(1 for slot in used if part.board.slots[slot].locked is None)


def _stretches(items: Sequence[Item], rules: PackRules) -> list[list[Item]]:
    gap = timedelta(days=max(1, rules.min_gap_days))
    stretches: list[list[Item]] = []
    end = date.min
    for item in sorted(items, key=lambda item: (item.need.opens, item.need.closes, item.need.id)):
        if not stretches or item.need.opens - end < gap:
            stretches = stretches or [[]]
            stretches[-1].append(item)
        else:
            stretches.append([item])
        end = max(end, item.need.closes)
    return stretches


def _solve(board: Board, limit: int | None) -> Solved:
    relaxation = Relaxation(board)
    spans = spans_that_need_visits(board)
    least = sum(span.visits for span in spans)
    values = _relaxed_values(board, relaxation, least, limit)
    bound = min(max(value, LOST + VISIT * visits) if visits < least else value for visits, value in enumerate(values))
    fewest = next((visits for visits, value in enumerate(values) if visits >= least and value < LOST), 0)
    best = Filling(sum(item.lost for item in board.items), (None,) * len(board.items))
    if any(value < NEVER for value in values):
        for visits in sorted(range(len(values)), key=lambda visits: values[visits])[:4]:
            if values[visits] < NEVER and best.value > bound:
                grown = grow(board, relaxation.chain(visits), limit, bound)
                best = min(best, grown, key=lambda filling: filling.value)
    if best.value <= bound:
        return Solved(board, best, True, spans, fewest)
    if len(board.items) > MOST_SEARCHED:
        return Solved(board, best, False, spans, fewest)
    best, is_proved = _search(board, relaxation, best, bound, limit)
    return Solved(board, best, is_proved, spans, fewest)


def _relaxed_values(board: Board, relaxation: Relaxation, least: int, limit: int | None) -> list[int]:
    """Per number of new visits the value no packing with that many can beat, until more visits cannot help."""
    most = len(board.items) if limit is None else min(limit, len(board.items))
    values: list[int] = []
    for visits in range(most + 1):
        value = relaxation.value(visits)
        values.append(int(NEVER) if value >= NEVER else value + VISIT * visits)
        is_out_of_days = visits > 0 and value >= NEVER
        if is_out_of_days or (visits >= least and values[-1] < LOST):
            break
    return values


def _search(board: Board, relaxation: Relaxation, best: Filling, bound: int, limit: int | None) -> tuple[Filling, bool]:
    steps = board.rules.effort
    first = Effort(steps, KEPT_FIRST, limit, _likely_slots(board, relaxation))
    for effort in (first, Effort(steps, None, limit)):
        outcome = Search(board, effort).run(best.value)
        if outcome.filling and outcome.filling.value < best.value:
            best = outcome.filling
        if outcome.is_complete or best.value <= bound:
            return best, True
    return best, False


def _likely_slots(board: Board, relaxation: Relaxation) -> frozenset[int]:
    """Days the limitless packing would choose, ends of best parts, and an even spread between."""
    likely = {column for column, slot in enumerate(board.slots) if slot.locked}
    by_day = {slot.on: column for column, slot in enumerate(board.slots)}
    for visits in range(1, 5):
        if visits <= len(board.items) and relaxation.value(visits) < NEVER:
            likely |= set(relaxation.chain(visits))
    for item in board.items:
        likely |= {by_day[day] for day in (item.need.best_from, item.need.best_until) if day in by_day}
    spread = max(1, len(board.slots) // LOOKED_AT_FIRST)
    return frozenset(likely | set(range(0, len(board.slots), spread)))
