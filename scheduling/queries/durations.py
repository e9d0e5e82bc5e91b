"""What visits really took against what was reckoned, and the factors that follow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import median, quantiles
from typing import TypeVar

from django.db.models import Prefetch

from scheduling.models import Task, Visit

Key = TypeVar("Key")

SETUP_MINUTES = 15
"""Arriving, unloading, clearing up, signing off: labour figures, visit overhead."""
LEAST_VISITS = 8
"""Fewer finished visits say more about single days than about the work."""
YEARS_BACK = 3
LEADING_SHARE = 0.8
"""A visit speaks for a kind of work that makes up at least this part of its minutes."""
LOWEST, HIGHEST = 0.5, 2.0
"""Beyond these a clock was not stopped or a standard is wrong, which a person must look at."""


@dataclass(frozen=True, kw_only=True)
class Ratio:
    """Taken over reckoned, the middle one of the visits it was learned from."""

    factor: float
    visits: int
    middle_half: tuple[float, float]
    was_held: bool = False

    @property
    def why(self) -> str:
        """The factor in a sentence."""
        low, high = self.middle_half
        held = f" Held at {self.factor:g}: look at the clocks or the standard." if self.was_held else ""
        return (
            f"{self.visits} finished visits: the middle one took {self.factor:.2f} times what was reckoned, "
            f"half of them between {low:.2f} and {high:.2f}.{held}"
        )


@dataclass(frozen=True, kw_only=True)
class Pace:
    """How quick the work really goes: by kind, all crews together; by crew, what the kinds leave unexplained."""

    kinds: Mapping[str, Ratio] = field(default_factory=dict)
    crews: Mapping[int, Ratio] = field(default_factory=dict)

    def of_kind(self, kind: str) -> float:
        """What reckoned minutes of this kind are multiplied by; 1 where too little is known."""
        return self.kinds[kind].factor if kind in self.kinds else 1.0

    def of_crew(self, crew_id: int) -> float:
        """What this crew's minutes are multiplied by on top."""
        return self.crews[crew_id].factor if crew_id in self.crews else 1.0


USUAL_PACE = Pace()


@dataclass(frozen=True, kw_only=True)
class Worked:
    """A finished visit: crew, minutes of work taken (set-up off), and reckoned minutes by kind with that crew."""

    crew: int
    taken: float
    reckoned: Mapping[str, float]


def learned_pace(today: date) -> Pace:
    """The factors from visits finished in the last three years."""
    return pace_from(worked_visits(today))


def worked_visits(today: date) -> list[Worked]:
    """Finished visits whose minutes are known, with the standard minutes of the jobs that were done.

    The standard minutes are those of the job before any factor, so that learning from corrected visits does not correct
    the correction.
    """
    done = Task.objects.filter(state=Task.State.DONE)
    visits = (
        Visit.objects.filter(
            state=Visit.State.FINISHED,
            minutes_taken__gt=SETUP_MINUTES,
            round__isnull=False,
            on__gt=today - timedelta(days=365 * YEARS_BACK),
        )
        .select_related("round__crew", "work_order")
        .prefetch_related(Prefetch("work_order__tasks", queryset=done))
    )
    found = []
    for visit in visits:
        order = getattr(visit, "work_order", None)
        if order is None or visit.round is None or visit.minutes_taken is None:
            continue
        crew = visit.round.crew
        minutes: dict[str, float] = defaultdict(float)
        for task in order.tasks.all():
            minutes[task.kind] += task.minutes / crew.size
        if minutes:
            found.append(Worked(crew=crew.pk, taken=visit.minutes_taken - SETUP_MINUTES, reckoned=dict(minutes)))
    return found


def pace_from(visits: Sequence[Worked]) -> Pace:
    """Factors by kind first, then by crew on what is left."""
    by_kind: dict[str, list[float]] = defaultdict(list)
    for visit in visits:
        total = sum(visit.reckoned.values())
        kind, most = max(visit.reckoned.items(), key=lambda item: item[1])
        if most >= LEADING_SHARE * total:
            by_kind[kind].append(visit.taken / total)
    kinds = _learned(by_kind)
    pace = Pace(kinds=kinds)
    by_crew: dict[int, list[float]] = defaultdict(list)
    for visit in visits:
        expected = sum(minutes * pace.of_kind(kind) for kind, minutes in visit.reckoned.items())
        by_crew[visit.crew].append(visit.taken / expected)
    return Pace(kinds=kinds, crews=_learned(by_crew))


def _learned(ratios: Mapping[Key, Sequence[float]]) -> dict[Key, Ratio]:
    return {key: _ratio(values) for key, values in ratios.items() if len(values) >= LEAST_VISITS}


def _ratio(values: Sequence[float]) -> Ratio:
    """The median: one visit with a forgotten clock does not move it."""
    middle = median(values)
    low, _, high = quantiles(values, n=4, method="inclusive")
    factor = round(min(HIGHEST, max(LOWEST, middle)), 2)
    return Ratio(
        factor=factor,
        visits=len(values),
        middle_half=(round(low, 2), round(high, 2)),
        was_held=not LOWEST <= middle <= HIGHEST,
    )
