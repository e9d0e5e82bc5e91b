"""A plan laid out for comparison: every visit from where to where and why, and the numbers before and after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Any, Literal

from django.db.models import Case, QuerySet, When

from scheduling.models import Crew, Plan, Visit

RETIMED_MINUTES = 15
"""A start that shifts by less is not worth telling anybody."""
Turn = Literal["better", "worse", "same"]


@dataclass(frozen=True, kw_only=True)
class Place:
    """A crew, a day and an hour."""

    crew: str
    on: date
    arrives: time | None
    leaves: time | None


@dataclass(frozen=True, kw_only=True)
class Row:
    """One visit before and after. ``is_small`` marks a start that shifts by minutes only."""

    visit: Visit
    kind: str
    before: Place | None
    after: Place | None
    why: str
    was_hit: bool
    tell: bool
    is_small: bool
    remedy: str = ""


@dataclass(frozen=True, kw_only=True)
class NumberRow:
    """One of the owner's numbers before and after. ``unit`` is share, minutes, km or count."""

    words: str
    unit: str
    before: float | None
    after: float
    turn: Turn


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Everything the page of a plan shows."""

    moved: Sequence[Row]
    small: Sequence[Row]
    unplaced: Sequence[Row]
    tell: Sequence[Row]
    numbers: Sequence[NumberRow]
    notes: Sequence[str]
    travel: Sequence[str] = ()


# Words, key in the numbers of a plan, unit, whether more is better (None: neither).
NUMBERS: tuple[tuple[str, str, str, bool | None], ...] = (
    ("Visits on a round", "placed", "count", True),
    ("Without a place", "unplaced", "count", False),
    ("Rounds", "rounds", "count", None),
    ("Driving", "drive_minutes", "minutes", False),
    ("Distance", "drive_km", "km", False),
    ("Paid time used", "utilisation", "share", True),
    ("Driving in the time out", "drive_share", "share", False),
    ("In the best part of the window", "best_share", "share", True),
    ("With the crew the client knows", "known_crew_share", "share", True),
)


def latest_plans(plans: QuerySet[Plan], count: int = 8) -> QuerySet[Plan]:
    """What was planned last, first what is under way, then offers that still wait."""
    waits = Case(When(state=Plan.State.RUNNING, then=0), When(state=Plan.State.OFFERED, then=1), default=2)
    return plans.order_by(waits, "-made_at")[:count]


def compare(plan: Plan) -> Comparison:
    """Before and after, in three queries however many visits."""
    rows = {
        str(visit.pk): visit
        for visit in Visit.objects.filter(
            pk__in={int(key) for key in (*plan.after, *plan.offer.get("unplaced", ()))}
        ).select_related("site__client", "round__crew")
    }
    crews = dict(Crew.objects.values_list("pk", "name"))
    keys = dict.fromkeys([*plan.after, *plan.offer.get("unplaced", ())])
    found = [_row(plan, rows[key], crews) for key in keys if key in rows]
    found.sort(key=_by_day)
    return Comparison(
        moved=[row for row in found if row.after and not row.is_small],
        small=[row for row in found if row.is_small],
        unplaced=[row for row in found if row.after is None],
        tell=[row for row in found if row.tell],
        numbers=_numbers(plan.numbers),
        notes=plan.offer.get("notes", ()),
        travel=plan.offer.get("travel", ()),
    )


def _by_day(row: Row) -> tuple[date, time, int]:
    place = row.before or row.after
    return (place.on, place.arrives or time(0), row.visit.pk) if place else (date.max, time(0), row.visit.pk)


def _row(plan: Plan, visit: Visit, crews: Mapping[int, str]) -> Row:
    key = str(visit.pk)
    before, after = _place(plan.before.get(key, {}), crews), _place(plan.after.get(key, {}), crews)
    change = plan.offer.get("changes", {}).get(key, {})
    lost = plan.offer.get("unplaced", {}).get(key, {})
    same_place = bool(before and after and (before.crew, before.on) == (after.crew, after.on))
    return Row(
        visit=visit,
        kind=change.get("kind", "retimed" if same_place else "moved"),
        before=before,
        after=after,
        why=lost.get("why") or change.get("why", ""),
        was_hit=change.get("was_hit", False),
        tell=key in plan.offer.get("tell", ()),
        is_small=same_place and not change and not _is_told(before, after),
        remedy=lost.get("remedy", ""),
    )


def _is_told(before: Place | None, after: Place | None) -> bool:
    """Whether the hour shifts by so much that somebody must be told."""
    if not before or not after or not before.arrives or not after.arrives:
        return False
    one, other = ((each.arrives.hour * 60 + each.arrives.minute) if each.arrives else 0 for each in (before, after))
    return abs(one - other) >= RETIMED_MINUTES


def _place(where: Mapping[str, Any], crews: Mapping[int, str]) -> Place | None:
    if not where.get("on") or not where.get("crew"):
        return None
    return Place(
        crew=crews.get(where["crew"], "a crew that is gone"),
        on=date.fromisoformat(where["on"]),
        arrives=time.fromisoformat(where["arrives"]) if where.get("arrives") else None,
        leaves=time.fromisoformat(where["leaves"]) if where.get("leaves") else None,
    )


def _numbers(kept: Mapping[str, Any]) -> list[NumberRow]:
    after = kept.get("after", kept)
    before = kept.get("before", {})
    return [
        NumberRow(
            words=words,
            unit=unit,
            before=before.get(key),
            after=after[key],
            turn=_turn(_as_shown(before.get(key), unit), _as_shown(after[key], unit), more_is_better),
        )
        for words, key, unit, more_is_better in NUMBERS
        if key in after
    ]


def _as_shown(value: float | None, unit: str) -> float | None:
    """A difference nobody can see on the page is none."""
    return None if value is None else round(value, 2 if unit == "share" else 0)


def _turn(before: float | None, after: float | None, more_is_better: bool | None) -> Turn:
    if before is None or after is None or more_is_better is None or before == after:
        return "same"
    return "better" if (after > before) == more_is_better else "worse"
