"""Crews, visits and rounds as planning and pages read them."""

from __future__ import annotations

from datetime import date

from django.db.models import Count, Prefetch, Q, QuerySet

from scheduling.models import Crew, Round, Task, Visit


def crews_at_work() -> QuerySet[Crew]:
    return Crew.objects.filter(is_active=True)


def with_tasks(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Visits with their jobs, trees and supports, in a fixed number of queries."""
    tasks = Task.objects.select_related("tree__support", "support", "need").order_by(
        "tree__support__walk_order", "tree__position_mm", "number", "pk"
    )
    return visits.select_related("work_order").prefetch_related(Prefetch("work_order__tasks", queryset=tasks))


def with_counts(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Visits with how many jobs they have and how many are answered."""
    return visits.annotate(
        jobs=Count("work_order__tasks", distinct=True),
        jobs_answered=Count("work_order__tasks", filter=~Q(work_order__tasks__state=Task.State.OPEN), distinct=True),
    )


def rounds_with_visits(rounds: QuerySet[Round]) -> QuerySet[Round]:
    visits = with_counts(Visit.objects.select_related("site__client")).order_by("position", "pk")
    return rounds.select_related("crew").prefetch_related(Prefetch("visits", queryset=visits))


def rounds_between(rounds: QuerySet[Round], first: date, last: date) -> QuerySet[Round]:
    return rounds_with_visits(rounds.filter(on__range=(first, last)))


def next_round_day(rounds: QuerySet[Round], after: date) -> date | None:
    """The first day from ``after`` on that has a round with visits."""
    return rounds.filter(on__gte=after, visits__isnull=False).order_by("on").values_list("on", flat=True).first()


def visits_of_round(found: Round) -> QuerySet[Visit]:
    return Visit.objects.filter(round=found).select_related("site__client", "round__crew").order_by("position", "pk")


def waiting_visits() -> QuerySet[Visit]:
    """Suggested visits without a day."""
    return Visit.objects.filter(state=Visit.State.PROPOSED)
