"""House rules as they stand, and the trees a rule may speak of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from django.db.models import Count, QuerySet

from gardens.models import RuleOverride, Site, Tree


def standing_overrides() -> QuerySet[RuleOverride]:
    """The house rules in force, oldest first."""
    return RuleOverride.objects.filter(ended_at=None).select_related("made_by").order_by("pk")


def overrides_of(rule: str) -> QuerySet[RuleOverride]:
    """Every house rule there ever was over one rule, the newest first."""
    return RuleOverride.objects.filter(rule=rule).select_related("made_by", "ended_by").order_by("-pk")


def living_trees_of(species: Iterable[str]) -> QuerySet[Tree]:
    """Trees in the ground of these species, in gardens we look after."""
    return (
        Tree.objects.filter(species__in=list(species), removed_on=None, is_planned=False, site__is_active=True)
        .select_related("site")
        .order_by("site__name", "label", "pk")
    )


def living_trees_in_form(form: str) -> QuerySet[Tree]:
    """Trees in the ground that are trained to this form."""
    return (
        Tree.objects.filter(form=form, removed_on=None, is_planned=False, site__is_active=True)
        .select_related("site")
        .order_by("site__name", "label", "pk")
    )


def tree_counts() -> tuple[Counter[str], Counter[str]]:
    """How many living trees there are of each species, and in each form."""
    living = Tree.objects.filter(removed_on=None, is_planned=False, site__is_active=True).order_by()
    species: Counter[str] = Counter()
    forms: Counter[str] = Counter()
    for row in living.values("species", "form").annotate(count=Count("pk")):
        species[row["species"]] += row["count"]
        forms[row["form"]] += row["count"]
    return species, forms


def sites_of(site_ids: Iterable[int]) -> QuerySet[Site]:
    """Sites with their weather stations."""
    return Site.objects.filter(pk__in=set(site_ids)).select_related("station")
