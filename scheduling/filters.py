"""Filters over the season's needs."""

from __future__ import annotations

import django_filters
from django.db.models import Q, QuerySet

from gardens.training.state import WORK_KINDS
from scheduling.models import Need

KINDS = [(kind, kind.replace("_", " ").capitalize()) for kind in WORK_KINDS]


class NeedFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words, kind of work, state, and whether a visit serves it."""

    words = django_filters.CharFilter(label="Site, tree or client", method="search")
    kind = django_filters.ChoiceFilter(label="Kind of work", choices=KINDS, empty_label="Every kind")
    state = django_filters.ChoiceFilter(label="State", choices=Need.State.choices, empty_label="Every state")
    laid = django_filters.ChoiceFilter(
        label="Visit",
        choices=[("dated", "has a day"), ("laid", "in a visit"), ("none", "no visit yet")],
        method="by_visit",
        empty_label="With and without",
    )
    until = django_filters.DateFilter(field_name="closes", lookup_expr="lte", label="Closes by")

    class Meta:
        model = Need
        fields: tuple[str, ...] = ()

    def search(self, needs: QuerySet[Need], name: str, value: str) -> QuerySet[Need]:
        for word in value.split():
            needs = needs.filter(
                Q(site__name__icontains=word)
                | Q(site__client__name__icontains=word)
                | Q(tree__label__icontains=word)
                | Q(tree__species__icontains=word)
            )
        return needs

    def by_visit(self, needs: QuerySet[Need], name: str, value: str) -> QuerySet[Need]:
        wanted = Q(planned_on__isnull=False) if value == "dated" else Q(is_laid=value == "laid")
        # The columns are annotated by queries.board.needs_of; the model alone does not know them.
        return needs.filter(wanted)
