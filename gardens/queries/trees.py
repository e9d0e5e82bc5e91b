"""Trees as pages and planning read them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

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


class RecordLine(NamedTuple):
    """A standing record as a fold reads it; a tenth of the cost of a row where there are very many."""

    pk: int
    on: date
    kind: str
    what: str
    limb: str
    value: float | None
    text: str


def sites_with_trees() -> list[Site]:
    """Sites that are looked after, each with its living trees and their records, in a fixed number of queries."""
    sites = list(
        Site.objects.filter(is_active=True, client__is_active=True)
        .select_related("client", "station")
        .prefetch_related("supports__wires")
    )
    by_site: dict[int, list[Tree]] = {site.pk: [] for site in sites}
    supports = {support.pk: support for site in sites for support in site.supports.all()}
    records = _record_lines()
    owners = {site.pk: site for site in sites}
    for tree in Tree.objects.filter(removed_on=None, is_planned=False, site__in=Site.objects.filter(is_active=True)):
        if tree.site_id in owners:
            tree.site, tree.support = owners[tree.site_id], supports[tree.support_id]
            vars(tree)["standing_records"] = records.get(tree.pk, [])
            by_site[tree.site_id].append(tree)
    for site in sites:
        vars(site)["living_trees"] = by_site[site.pk]
    return sites


def _record_lines() -> dict[int, list[RecordLine]]:
    """Tree → its standing records in their order, of every tree that lives."""
    found: dict[int, list[RecordLine]] = {}
    rows = standing_records().filter(tree__removed_on=None, tree__isnull=False)
    for tree_id, *values in rows.values_list("tree_id", *RecordLine._fields).iterator(chunk_size=10_000):
        found.setdefault(tree_id, []).append(RecordLine._make(values))
    return found


def living_trees(site: Site) -> list[Tree]:
    """The trees that `sites_with_trees` brought along."""
    trees: list[Tree] = vars(site)["living_trees"]
    return trees


def species_at(site_ids: Iterable[int]) -> QuerySet[Tree, tuple[int, str, str]]:
    """Which species live in these gardens, on which kinds of support: (site, species, kind)."""
    living = Tree.objects.filter(site__in=list(site_ids), removed_on=None, is_planned=False)
    return living.order_by().values_list("site_id", "species", "support__kind").distinct()


def designed_trees(support_id: int, *, species: str, form: str) -> QuerySet[Tree]:
    """Trees of a design that are not in the ground yet, from the left."""
    return Tree.objects.filter(
        support=support_id, species=species, form=form, is_planned=True, removed_on=None
    ).order_by("position_mm")
