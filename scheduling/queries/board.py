"""What the office needs to see first in the morning, and how far a season is placed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Sum

from scheduling.models import Need, Season, Task, Unplaced, Visit

CLOSING_DAYS = 14
"""A window that ends within a fortnight without a visit is news."""


def latest_season() -> Season | None:
    return Season.objects.first()


def season_of(year: int) -> Season | None:
    return Season.objects.filter(year=year).first()


def needs_of(season: Season) -> QuerySet[Need]:
    """The season's needs, each with the day it is planned for, if any."""
    on_a_sheet = Task.objects.filter(need=OuterRef("pk"), state=Task.State.OPEN)
    return (
        Need.objects.filter(season=season)
        .exclude(state=Need.State.WITHDRAWN)
        .select_related("site", "tree", "support", "unplaced")
        .annotate(
            is_laid=Exists(on_a_sheet),
            planned_on=on_a_sheet.values("work_order__visit__on")[:1],
            visit_id=on_a_sheet.values("work_order__visit_id")[:1],
        )
    )


def windows_closing(today: date, *, days: int = CLOSING_DAYS) -> QuerySet[Need]:
    """Open needs whose window ends soon and that no dated visit serves."""
    dated = Task.objects.filter(need=OuterRef("pk"), state=Task.State.OPEN, work_order__visit__on__isnull=False)
    return (
        Need.objects.filter(
            state=Need.State.OPEN,
            is_optional=False,
            opens__lte=today + timedelta(days=days),
            closes__range=(today, today + timedelta(days=days)),
        )
        .exclude(Exists(dated))
        .select_related("site", "tree")
        .order_by("closes", "site__name")
    )


def needs_open() -> QuerySet[Need]:
    """Work that is still to be done."""
    return Need.objects.filter(state=Need.State.OPEN).select_related("season", "site")


def finished_without_report() -> QuerySet[Visit]:
    return Visit.objects.filter(state=Visit.State.FINISHED, report=None).select_related("site__client")


def unplaced() -> QuerySet[Unplaced]:
    return (
        Unplaced.objects.select_related("visit__site", "need__site", "need__tree")
        .filter(Q(need=None) | Q(need__state=Need.State.OPEN))
        .order_by("need__closes", "visit__closes")
    )


@dataclass(frozen=True, kw_only=True)
class WeekLoad:
    """One week of the season: minutes of work whose best part lies in it, and how many of them are placed."""

    monday: date
    minutes: float
    placed_minutes: float

    @property
    def share_placed(self) -> float:
        return self.placed_minutes / self.minutes if self.minutes else 0.0


@dataclass(frozen=True, kw_only=True)
class KindCount:
    """How many needs of one kind there are, and how many have a visit or are done."""

    kind: str
    count: int
    settled: int


@dataclass(frozen=True, kw_only=True)
class SeasonFigures:
    """The season in numbers."""

    needs: int = 0
    done: int = 0
    laid: int = 0
    minutes: float = 0
    visits: int = 0
    dated_visits: int = 0
    unplaced: int = 0
    weeks: Sequence[WeekLoad] = ()
    kinds: Sequence[KindCount] = field(default=())


def figures_of(season: Season) -> SeasonFigures:
    """Count the season in a fixed number of queries."""
    needs = needs_of(season)
    totals = needs.aggregate(
        needs=Count("pk"),
        done=Count("pk", filter=Q(state=Need.State.DONE)),
        laid=Count("pk", filter=Q(is_laid=True)),
        minutes=Sum("minutes", default=0.0),
    )
    visits = Visit.objects.filter(season=season).exclude(state=Visit.State.CALLED_OFF)
    return SeasonFigures(
        needs=totals["needs"],
        done=totals["done"],
        laid=totals["laid"],
        minutes=totals["minutes"],
        visits=visits.count(),
        dated_visits=visits.filter(on__isnull=False).count(),
        unplaced=unplaced().filter(Q(need__season=season) | Q(visit__season=season)).count(),
        weeks=_weeks(needs),
        kinds=_kinds(needs),
    )


def _weeks(needs: QuerySet[Any]) -> list[WeekLoad]:
    load: dict[date, list[float]] = defaultdict(lambda: [0.0, 0.0])
    rows = needs.filter(state=Need.State.OPEN, is_optional=False).values_list("best_from", "minutes", "planned_on")
    for best_from, minutes, planned_on in rows:
        day = planned_on or best_from
        cell = load[day - timedelta(days=day.weekday())]
        cell[0] += minutes
        cell[1] += minutes if planned_on else 0
    return [
        WeekLoad(monday=monday, minutes=total, placed_minutes=placed)
        for monday, (total, placed) in sorted(load.items())
    ]


def _kinds(needs: QuerySet[Need]) -> list[KindCount]:
    rows = (
        needs.values("kind")
        .annotate(count=Count("pk"), settled=Count("pk", filter=Q(is_laid=True) | Q(state=Need.State.DONE)))
        .order_by(F("count").desc(), "kind")
    )
    return [KindCount(kind=row["kind"], count=row["count"], settled=row["settled"]) for row in rows]
