"""Trees as pages and planning read them."""

from __future__ import annotations

from django.db.models import Prefetch, QuerySet

from gardens.models import Record, Site, Tree


def standing_records() -> QuerySet[Record]:
    """Records that count: neither withdrawn nor replaced by a correction."""
    return Record.objects.filter(is_withdrawn=False, corrected_by=None).order_by("on", "entered_at", "pk")


def trees_with_records() -> QuerySet[Tree]:
    """Trees with all a fold needs, in a fixed number of queries."""
    return Tree.objects.select_related("site__client", "site__station", "support").prefetch_related(
        "support__wires", Prefetch("records", queryset=standing_records(), to_attr="standing_records")
    )


def trees_on_site(site_id: int) -> QuerySet[Tree]:
    return trees_with_records().filter(site_id=site_id, removed_on=None)


def trees_on_support(support_id: int) -> QuerySet[Tree]:
    return trees_with_records().filter(support_id=support_id, removed_on=None).order_by("position_mm")


def sites_with_trees() -> QuerySet[Site]:
    """Sites that are looked after, each with its living trees and their records."""
    living = trees_with_records().filter(removed_on=None, is_planned=False)
    return (
        Site.objects.filter(is_active=True, client__is_active=True)
        .select_related("client", "station")
        .prefetch_related("supports__wires", Prefetch("trees", queryset=living, to_attr="living_trees"))
    )


def living_trees(site: Site) -> list[Tree]:
    """The trees that `sites_with_trees` brought along."""
    trees: list[Tree] = vars(site)["living_trees"]
    return trees
