"""What a new plan changes against the old one, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from scheduling.rounds.lookup import CrewDayKey, Lookup, say_day, say_time
from scheduling.rounds.plan import RoundPlan
from scheduling.rounds.timetable import Trouble, timetable

ChangeKind = Literal["moved", "retimed", "added", "dropped", "called_off"]
RETIMED_MINUTES = 15
"""A start that shifts by less is not worth telling anybody."""


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A crew, a day and a start."""

    crew: str
    day: date
    starts: int


@dataclass(frozen=True, kw_only=True)
class Change:
    """One visit before and after. ``was_hit`` tells a visit that could not stay from one that made room."""

    visit: str
    kind: ChangeKind
    before: Spot | None
    after: Spot | None
    why: str
    was_hit: bool = False


def hits_of(lookup: Lookup, before: RoundPlan) -> Mapping[str, str]:
    """Visits of the old plan that cannot stay where they were, with the reason."""
    hits: dict[str, str] = {}
    for (crew, day), sequence in before.sequences.items():
        known = [visit for visit in sequence if visit in lookup.visits]
        crew_day = lookup.crew_days.get((crew, day))
        if crew_day is None:
            name = lookup.crews[crew].name if crew in lookup.crews else crew
            gone = "a holiday" if day in lookup.problem.holidays else f"not worked by {name}"
            hits.update({visit: f"{say_day(day)} is {gone}" for visit in known})
            continue
        stays = []
        for visit in known:
            if bar := lookup.bar(lookup.visits[visit], crew_day):
                hits[visit] = bar.why
            else:
                stays.append(visit)
        hits.update(_squeezed_out(lookup, (crew, day), stays))
    return hits


def _squeezed_out(lookup: Lookup, key: CrewDayKey, sequence: list[str]) -> dict[str, str]:
    """Visits to take out of a round that no longer fits its shift, those with the most time left first."""
    out: dict[str, str] = {}
    day = lookup.crew_days[key]
    while sequence and isinstance(found := timetable(lookup, day, sequence), Trouble):
        loose = [visit for visit in sequence if lookup.visits[visit].lock is None]
        if not loose:
            break
        name = lookup.crews[day.crew].name
        tries = {visit: timetable(lookup, day, [each for each in sequence if each != visit]) for visit in loose}
        enough = [visit for visit, rest in tries.items() if not isinstance(rest, Trouble)] or loose
        victim = max(enough, key=lambda visit: (not lookup.visits[visit].is_urgent, lookup.visits[visit].closes, visit))
        out[victim] = f"the round of {name} on {say_day(day.day)} is {found.short} min too long now"
        sequence = [visit for visit in sequence if visit != victim]
    return out


def changes_between(lookup: Lookup, before: RoundPlan, after: RoundPlan, hits: Mapping[str, str]) -> tuple[Change, ...]:
    """Every visit whose crew, day or (by a quarter of an hour) start changed, by day."""
    found = []
    for visit in dict.fromkeys([*before.places, *after.places, *(each.visit for each in after.unplaced)]):
        old, new = _spot(before, visit), _spot(after, visit)
        kind = _kind(lookup, visit, old, new)
        if kind is None:
            continue
        why = hits.get(visit) or _why(lookup, visit, old, (before, after))
        found.append(Change(visit=visit, kind=kind, before=old, after=new, why=why, was_hit=visit in hits))
    return tuple(sorted(found, key=_order))


def _order(change: Change) -> tuple[date, int, str]:
    spot = change.before or change.after
    return (spot.day, spot.starts, change.visit) if spot else (date.max, 0, change.visit)


def _spot(plan: RoundPlan, visit: str) -> Spot | None:
    place = plan.places.get(visit)
    return Spot(crew=place[0], day=place[1], starts=plan.stops[visit].starts) if place else None


def _kind(lookup: Lookup, visit: str, old: Spot | None, new: Spot | None) -> ChangeKind | None:
    if old and not new:
        return "dropped" if visit in lookup.visits else "called_off"
    if new and not old:
        return "added"
    if not old or not new:
        return None
    if (old.crew, old.day) != (new.crew, new.day):
        return "moved"
    return "retimed" if abs(old.starts - new.starts) >= RETIMED_MINUTES else None


def _why(lookup: Lookup, visit: str, old: Spot | None, plans: tuple[RoundPlan, RoundPlan]) -> str:
    before, after = plans
    if visit not in lookup.visits:
        return "no longer asked for"
    if old is None:
        new = after.places.get(visit)
        return f"new, with {lookup.crews[new[0]].name} on {say_day(new[1])}" if new else "new, and no room was found"
    key = (old.crew, old.day)
    newcomers = [each for each in after.sequences.get(key, ()) if before.places.get(each) != key]
    if after.places.get(visit) == key:
        left = [each for each in before.sequences.get(key, ()) if after.places.get(each) != key]
        names = [lookup.visits[each].name for each in newcomers] + [
            lookup.visits[each].name if each in lookup.visits else each for each in left
        ]
        was = f"started at {say_time(old.starts)} before"
        return f"the round changed round {', '.join(names)}; {was}" if names else f"the round was reordered; {was}"
    if newcomers:
        return f"made room for {', '.join(lookup.visits[each].name for each in newcomers)}"
    return "made room on the days round the change"
