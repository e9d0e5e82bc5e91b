"""Small sites for the packing tests, and the answer by trying everything."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import pairwise, product

from hypothesis import strategies as st

from scheduling.packing import CrewKind, DayLimit, LockedVisit, Packing, PackNeed, PackRules

FIRST = date(2025, 3, 3)  # a Monday


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def need(key: str, window: tuple[int, int, int, int], minutes: int = 60, **more) -> PackNeed:
    opens, best_from, best_until, closes = (day(number) for number in window)
    return PackNeed(
        id=key, opens=opens, best_from=best_from, best_until=best_until, closes=closes, minutes=minutes, **more
    )


Score = tuple[int, int, int]
"""Importance of lost needs, new visits, days off the best parts with the worth of optional needs left out."""


def score(packing: Packing, needs: Sequence[PackNeed], rules: PackRules) -> Score:
    lost = {unserved.need_id for unserved in packing.unserved}
    firm = sum(need.importance for need in needs if need.id in lost and not need.is_optional)
    optional = sum(rules.optional_worth_days for need in needs if need.id in lost and need.is_optional)
    days = sum(entry.days_off_best for entry in packing.account)
    return firm, len(packing.new_visits), days + optional


def best_by_trying_everything(needs: Sequence[PackNeed], rules: PackRules) -> Score:
    """The best score over every way to give each need a day or none. For a handful of needs and days."""
    choices = [[None, *_days_for(need, rules)] for need in needs]
    return min(found for plan in product(*choices) if (found := _score_of(plan, needs, rules)) is not None)


def _days_for(need: PackNeed, rules: PackRules) -> Iterator[date]:
    for number in range((need.closes - need.opens).days + 1):
        yield need.opens + timedelta(days=number)


def _score_of(plan: Sequence[date | None], needs: Sequence[PackNeed], rules: PackRules) -> Score | None:
    locked = {visit.on: visit for visit in rules.locked}
    new = sorted({on for on in plan if on is not None and on not in locked})
    if not _days_are_allowed(new, rules) or not _loads_are_allowed(plan, needs, rules):
        return None
    if rules.max_visits is not None and new and len(new) + len(rules.locked) > rules.max_visits:
        return None
    firm = days = 0
    for need, on in zip(needs, plan, strict=True):
        if on is None:
            firm += 0 if need.is_optional else need.importance
            days += rules.optional_worth_days if need.is_optional else 0
        else:
            days += max(0, (need.best_from - on).days, (on - need.best_until).days)
    return firm, len(new), days


def _days_are_allowed(new: Sequence[date], rules: PackRules) -> bool:
    gap = max(1, rules.min_gap_days)
    for on in new:
        if on.weekday() not in rules.weekdays or on in rules.blocked:
            return False
        if any(abs((visit.on - on).days) < gap for visit in rules.locked):
            return False
    return all(
        (later - earlier).days >= gap or (rules.may_run_on and _is_next_open_day(earlier, later, rules))
        for earlier, later in pairwise(new)
    )


def _is_next_open_day(earlier: date, later: date, rules: PackRules) -> bool:
    between = [earlier + timedelta(days=number) for number in range(1, (later - earlier).days)]
    return not any(_days_are_allowed([on], rules) for on in between)


def _loads_are_allowed(plan: Sequence[date | None], needs: Sequence[PackNeed], rules: PackRules) -> bool:
    locked = {visit.on: visit for visit in rules.locked}
    for on in {on for on in plan if on is not None}:
        load = [need for need, chosen in zip(needs, plan, strict=True) if chosen == on]
        taken = locked.get(on)
        room = taken.spare_minutes if taken else rules.room_on(on)
        skills = frozenset().union(*(need.skills for need in load), taken.skills if taken else frozenset())
        size = max([need.crew_size for need in load] + ([taken.crew_size] if taken else []))
        if sum(need.minutes for need in load) > room:
            return False
        if rules.crews and not any(skills <= crew.skills and size <= crew.size for crew in rules.crews):
            return False
    return True


@st.composite
def needs_of_a_site(draw, *, most: int = 5, days: int = 7) -> list[PackNeed]:
    needs = []
    for number in range(draw(st.integers(1, most))):
        window = sorted(draw(st.lists(st.integers(0, days - 1), min_size=4, max_size=4)))
        needs.append(
            need(
                f"n{number}",
                tuple(window),
                draw(st.sampled_from([20, 30, 45, 60, 80])),
                importance=draw(st.sampled_from([1, 1, 1, 3])),
                is_optional=draw(st.sampled_from([False, False, False, True])),
                skills=draw(st.sampled_from([frozenset(), frozenset(), frozenset({"ladder"}), frozenset({"saw"})])),
            )
        )
    return needs


@st.composite
def rules_of_a_site(draw, *, days: int = 7) -> PackRules:
    locked = ()
    if draw(st.booleans()):
        spare = draw(st.sampled_from([0, 45, 100]))
        locked = (LockedVisit(id="promised", on=day(draw(st.integers(0, days - 1))), spare_minutes=spare),)
    both, one = CrewKind(skills=frozenset({"ladder", "saw"})), CrewKind(skills=frozenset({"ladder"}))
    other = CrewKind(skills=frozenset({"saw"}))
    return PackRules(
        visit_minutes=draw(st.sampled_from([80, 100, 130, 400])),
        min_gap_days=draw(st.sampled_from([0, 0, 2, 3])),
        may_run_on=draw(st.booleans()),
        weekdays=draw(st.sampled_from([frozenset(range(7)), frozenset({0, 2, 4, 5}), frozenset({1, 3})])),
        blocked=frozenset(day(number) for number in draw(st.sets(st.integers(0, days - 1), max_size=2))),
        day_limits=draw(st.sampled_from([(), (DayLimit(first=day(2), last=day(4), minutes=60),)])),
        max_visits=draw(st.sampled_from([None, None, 1, 2])),
        locked=locked,
        crews=draw(st.sampled_from([(), (both,), (one, other)])),
        optional_worth_days=draw(st.sampled_from([0, 1, 14])),
    )
