"""Filters over sites and trees."""

from __future__ import annotations

import django_filters
from django.db.models import Q, QuerySet

from gardens.models import Site, Tree
from gardens.services.words import FORM_WORDS, species_choices


class SiteFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words and whether the garden is still looked after."""

    words = django_filters.CharFilter(label="Site, client or place", method="search")
    is_active = django_filters.ChoiceFilter(
        label="Looked after", choices=[("True", "yes"), ("False", "no longer")], empty_label="All"
    )

    class Meta:
        model = Site
        fields: tuple[str, ...] = ()

    def search(self, sites: QuerySet[Site], name: str, value: str) -> QuerySet[Site]:
        for word in value.split():
            sites = sites.filter(
                Q(name__icontains=word)
                | Q(code__icontains=word)
                | Q(address__icontains=word)
                | Q(client__name__icontains=word)
            )
        return sites


class TreeFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words, species and form."""

    words = django_filters.CharFilter(label="Tree, site or cultivar", method="search")
    species = django_filters.ChoiceFilter(label="Species", choices=species_choices, empty_label="Every species")
    form = django_filters.ChoiceFilter(label="Form", choices=sorted(FORM_WORDS.items()), empty_label="Every form")

    class Meta:
        model = Tree
        fields: tuple[str, ...] = ()

    def search(self, trees: QuerySet[Tree], name: str, value: str) -> QuerySet[Tree]:
        for word in value.split():
            trees = trees.filter(
                Q(label__icontains=word)
                | Q(cultivar__icontains=word)
                | Q(site__name__icontains=word)
                | Q(site__client__name__icontains=word)
            )
        return trees
