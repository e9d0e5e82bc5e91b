"""The account of a packing in sentences: why a need is where it is, what proves the visits, why one stays out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from scheduling.packing.board import Board, is_open, rooms_for
from scheduling.packing.bounds import Span
from scheduling.packing.filling import Filling
from scheduling.packing.values import (
    NeedAccount,
    PackedVisit,
    PackNeed,
    PackRules,
    Unserved,
    UnservedCode,
    VisitProof,
)

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def say_day(day: date) -> str:
    """A day as a sentence writes it: "5 March 2025"."""
    return f"{day.day} {day:%B %Y}"


def count(number: int, noun: str) -> str:
    """A number with its noun: "1 visit", "3 visits"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def why_hopeless(need: PackNeed, rules: PackRules) -> Unserved | None:
    """The rule that keeps this need out of every packing, or None."""
    first = max(need.opens, rules.not_before or need.opens)
    last = min(need.closes, rules.not_after or need.closes)
    if first > last:
        return Unserved(
            need_id=need.id,
            code="window_passed",
            why=f"{need.name}: its window {say_day(need.opens)} to {say_day(need.closes)} lies outside the planned span",
            remedy="Plan an earlier or later span, or wait for its next window.",
        )
    if rules.crews and not any(need.skills <= crew.skills and need.crew_size <= crew.size for crew in rules.crews):
        wanted = ", ".join(sorted(need.skills)) or "no special skill"
        return Unserved(
            need_id=need.id,
            code="no_crew",
            why=f"{need.name}: no crew has {count(need.crew_size, 'person')} with {wanted}".replace(
                "persons", "people"
            ),
            remedy="Train or hire for it, join two crews for a day, or pass the work on.",
        )
    new, locked = rooms_for(need, rules)
    longest = max([*new, *locked], default=0)
    if not new and need.minutes > longest:
        return _no_day(need, rules, (first, last))
    if need.minutes > longest and not need.may_split:
        return Unserved(
            need_id=need.id,
            code="too_long",
            why=f"{need.name}: takes {need.minutes} min, a visit has room for {longest} min",
            remedy="Allow it to be split over several days, or send more hands.",
        )
    return None


def _no_day(need: PackNeed, rules: PackRules, span: tuple[date, date]) -> Unserved:
    days = [span[0] + timedelta(days=shift) for shift in range((span[1] - span[0]).days + 1)]
    access = ", ".join(WEEKDAYS[weekday] for weekday in sorted(rules.weekdays)) or "no day"
    between = f"between {say_day(span[0])} and {say_day(span[1])}"
    if any(day.weekday() in rules.weekdays and day not in rules.blocked and rules.room_on(day) for day in days):
        near = min(rules.locked, key=lambda visit: min(abs((visit.on - day).days) for day in days))
        return Unserved(
            need_id=need.id,
            code="gap",
            why=f"{need.name}: every day {between} is closer than {count(rules.min_gap_days, 'day')} to the locked "
            f"visit of {say_day(near.on)}",
            remedy="Unlock that visit, let it take more work, or allow visits closer together.",
        )
    return Unserved(
        need_id=need.id,
        code="no_open_day",
        why=f"{need.name}: no day {between} is open (access on {access}; holidays and blocked days taken off)",
        remedy="Ask the client for another access day, or free one of the blocked days.",
    )


def account_for(visits: Sequence[PackedVisit], needs: Sequence[PackNeed], rules: PackRules) -> tuple[NeedAccount, ...]:
    """Per need and visit: how far from its best part, and why there."""
    by_id = {need.id: need for need in needs}
    return tuple(_account(by_id[need_id], visit, visits, by_id) for visit in visits for need_id in visit.need_ids)


def _account(
    need: PackNeed, visit: PackedVisit, visits: Sequence[PackedVisit], by_id: dict[str, PackNeed]
) -> NeedAccount:
    early, late = (need.best_from - visit.on).days, (visit.on - need.best_until).days
    off = max(0, early, late)
    others = [by_id[other].name for other in visit.need_ids if other != need.id]
    company = f"with {_some(others)}" if others else "on its own"
    also = [other for other in visits if other is not visit and need.opens <= other.on <= need.closes]
    if need.id in dict(visit.parts):
        reason = f"{dict(visit.parts)[need.id]} of its {need.minutes} min, the rest on another day"
    elif off:
        side = "before" if early > 0 else "after"
        reason = f"{count(off, 'day')} {side} its best part, which keeps the visits few"
    elif also:
        reason = "in its best part"
    elif others:
        reason = "in its best part; no other visit falls into its window"
    else:
        reason = "in its best part; no other window could be served on the same day without an extra cost"
    if visit.locked_id:
        company = f"rides along on the locked visit {company}" if others else "rides along on the locked visit"
    return NeedAccount(
        need_id=need.id,
        visit_key=visit.key,
        days_off_best=off,
        why=f"{need.name} on {say_day(visit.on)} {company}: {reason}.",
    )


def _some(names: Sequence[str]) -> str:
    """The first few names, and how many more."""
    unique = list(dict.fromkeys(names))
    shown = ", ".join(unique[:3])
    return f"{shown} and {len(unique) - 3} more" if len(unique) > 3 else shown


def proof_of(spans: Sequence[Span], rules: PackRules) -> tuple[VisitProof, ...]:
    """The spans that call for visits of their own, in sentences."""
    return tuple(
        VisitProof(
            first=span.first,
            last=span.last,
            visits=span.visits,
            minutes=sum(item.minutes for item in span.items),
            need_ids=tuple(dict.fromkeys(item.need.id for item in span.items)),
            why=_say_span(span, rules),
        )
        for span in spans
    )


def _say_span(span: Span, rules: PackRules) -> str:
    names = _some([item.need.name for item in span.items])
    between = f"Between {say_day(span.first)} and {say_day(span.last)}"
    if span.visits == 1:
        return f"{between}: {names} must be done, and no other span overlaps this one."
    minutes = sum(item.minutes for item in span.items)
    room = rules.visit_minutes - rules.setup_minutes
    return f"{between}: {names} take {minutes} min and a visit holds {room} min, so {span.visits} visits are needed."


def unserved_for(
    parts: Sequence[tuple[Board, Filling]], visits: Sequence[PackedVisit], rules: PackRules
) -> tuple[Unserved, ...]:
    """Needs the packing had to leave out, wholly or in part."""
    left: dict[str, tuple[PackNeed, int]] = {}
    for board, filling in parts:
        for item, slot in zip(board.items, filling.slot_of, strict=True):
            if slot is None:
                minutes = left.get(item.need.id, (item.need, 0))[1]
                left[item.need.id] = (item.need, minutes + item.minutes)
    return tuple(_left_out(need, minutes, visits, rules) for need, minutes in left.values())


def _left_out(need: PackNeed, minutes: int, visits: Sequence[PackedVisit], rules: PackRules) -> Unserved:
    what = need.name if minutes == need.minutes else f"{need.name} ({minutes} of {need.minutes} min)"
    code, why, remedy = _cause(need, visits, rules)
    return Unserved(need_id=need.id, code=code, why=f"{what}: {why}", remedy=remedy)


def _cause(need: PackNeed, visits: Sequence[PackedVisit], rules: PackRules) -> tuple[UnservedCode, str, str]:
    window = f"{say_day(need.opens)} to {say_day(need.closes)}"
    if need.is_optional:
        return (
            "not_worth_a_visit",
            f"optional, and no visit between {window} can take it along within {rules.optional_worth_days} days",
            "Make it due, or book a visit for it.",
        )
    made = sum(1 for visit in visits if not visit.locked_id) + len(rules.locked)
    if rules.max_visits is not None and made >= rules.max_visits:
        return (
            "agreement_limit",
            f"the agreement pays for {count(rules.max_visits, 'visit')}, and none of them can take it ({window})",
            "Offer the client one more visit, or drop a need of less weight.",
        )
    if _is_too_close(need, visits, rules):
        return (
            "gap",
            f"every open day of its window ({window}) is closer than {count(rules.min_gap_days, 'day')} to another visit",
            "Allow visits closer together, or widen its window.",
        )
    return (
        "visits_full",
        f"the visits that fall into its window ({window}) are full and no day is left for another",
        "Give the visits more minutes or more hands, or open another access day.",
    )


def _is_too_close(need: PackNeed, visits: Sequence[PackedVisit], rules: PackRules) -> bool:
    days = [need.opens + timedelta(days=shift) for shift in range((need.closes - need.opens).days + 1)]
    free = [day for day in days if is_open(day, rules) and all(visit.on != day for visit in visits)]
    return rules.min_gap_days > 1 and all(
        any(abs((visit.on - day).days) < rules.min_gap_days for visit in visits) for day in free
    )
