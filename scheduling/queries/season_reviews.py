"""What a season brought to one client, and who may get a review of it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Q, QuerySet

from business import clock
from business.models import Client
from gardens.climate.seasons import season_year
from gardens.models import Photo, Record, Site, Tree
from gardens.queries.trees import standing_records, trees_with_records
from scheduling.models import Need, SeasonReview, Task, Visit


def season_days(year: int, *, is_southern: bool) -> tuple[date, date]:
    """First and last day of a season as people live it, from leaf fall to leaf fall (``gardens.climate.seasons``)."""
    if is_southern:
        return date(year, 5, 1), date(year + 1, 4, 30)
    return date(year - 1, 11, 1), date(year, 10, 31)


def season_of_today() -> int:
    """The season in which most of the northern year lies; offices in the south find the same number in their summer."""
    return season_year(clock.now().date(), is_southern=False)


def clients_with_visits(year: int) -> QuerySet[Client]:
    """Clients who had a finished visit in the season, with ``visits`` and, where one was begun, their review."""
    wanted = Q(sites__visits__state=Visit.State.FINISHED) & (
        _within("sites__visits__on", year, south=False) & Q(sites__latitude_deg__gte=0)
        | _within("sites__visits__on", year, south=True) & Q(sites__latitude_deg__lt=0)
    )
    return (
        Client.objects.filter(wanted)
        .annotate(visits=Count("sites__visits", filter=wanted, distinct=True))
        .order_by("name")
    )


def _within(column: str, year: int, *, south: bool) -> Q:
    return Q(**{f"{column}__range": season_days(year, is_southern=south)})


def reviews_in(year: int) -> dict[int, SeasonReview]:
    """The reviews of a season by client."""
    return {row.client_id: row for row in SeasonReview.objects.filter(year=year).select_related("document", "client")}


def seasons_with_visits() -> list[int]:
    """Seasons that can be reviewed, the newest first."""
    days = Visit.objects.filter(state=Visit.State.FINISHED, on__isnull=False).dates("on", "month")
    return sorted({season_year(day, is_southern=False) for day in days} | {season_of_today()}, reverse=True)


@dataclass(frozen=True, kw_only=True)
class SeasonSeen:
    """Everything a review is written from, read in a fixed number of queries."""

    year: int
    first: date
    last: date
    sites: Sequence[Site]
    trees: Sequence[Tree]
    visits: Sequence[Visit]
    done: Sequence[Task]
    photos: dict[int, list[Photo]]
    fruit_counted: int
    picked_kg: float
    coming: Sequence[Need]
    coming_visits: int

    @property
    def kinds(self) -> list[tuple[str, int]]:
        """Jobs done by kind of work, the commonest first."""
        return Counter(task.kind for task in self.done).most_common()

    @property
    def minutes(self) -> int:
        return sum(visit.minutes_taken or visit.minutes for visit in self.visits)

    def kinds_of(self, tree: Tree) -> list[tuple[str, int]]:
        return Counter(task.kind for task in self.done if task.tree_id == tree.pk).most_common()

    def coming_of(self, tree: Tree) -> list[Need]:
        first: dict[str, Need] = {}
        for need in self.coming:
            if need.tree_id == tree.pk:
                first.setdefault(need.kind, need)
        return list(first.values())


def season_seen(client: Client, year: int) -> SeasonSeen:
    """One client's season."""
    sites = list(Site.objects.filter(client=client).order_by("name").prefetch_related("supports__wires"))
    is_southern = bool(sites) and all(site.latitude_deg < 0 for site in sites)
    first, last = season_days(year, is_southern=is_southern)
    trees = list(
        trees_with_records()
        .filter(site__client=client, removed_on=None, is_planned=False)
        .order_by("site__name", "support__walk_order", "position_mm")
    )
    visits = list(
        Visit.objects.filter(site__client=client, state=Visit.State.FINISHED, on__range=(first, last))
        .select_related("site")
        .order_by("on")
    )
    photos: dict[int, list[Photo]] = defaultdict(list)
    references = [f"visit:{visit.pk}" for visit in visits]
    rows = Photo.objects.filter(reference__in=references, is_withdrawn=False).exclude(file="").select_related("site")
    for photo in rows.order_by("taken_at", "pk"):
        photos[photo.tree_id or 0].append(photo)
    counted, picked = _fruit(client, first, last)
    coming = Need.objects.filter(
        site__client=client,
        state=Need.State.OPEN,
        is_optional=False,
        best_until__range=(last + timedelta(days=1), last + timedelta(days=365)),
    )
    planned = Visit.objects.filter(site__client=client, opens__gt=last, season__year=year + 1)
    return SeasonSeen(
        year=year,
        first=first,
        last=last,
        sites=sites,
        trees=trees,
        visits=visits,
        done=list(Task.objects.filter(work_order__visit__in=visits, state=Task.State.DONE).order_by("pk")),
        photos=photos,
        fruit_counted=counted,
        picked_kg=picked,
        coming=list(coming.order_by("best_from", "pk")),
        coming_visits=planned.exclude(state=Visit.State.CALLED_OFF).count(),
    )


def _fruit(client: Client, first: date, last: date) -> tuple[int, float]:
    """Fruits counted (the last count of each tree), and what was picked [kg]."""
    records = standing_records().filter(tree__site__client=client, on__range=(first, last), value__isnull=False)
    counts = {row.tree_id: row.value or 0 for row in records.filter(kind=Record.Kind.SEEN, what="fruit_count")}
    picked = sum(row.value or 0 for row in records.filter(kind=Record.Kind.DONE, what="pick"))
    return round(sum(counts.values())), picked
