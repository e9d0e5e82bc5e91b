"""What a visit takes along that may not fit into every van: posts, wire, trees."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from scheduling.models import Crew, Task, Visit

LOADS: Mapping[str, frozenset[str]] = {
    "posts": frozenset({"line_post", "end_post", "brace_post", "brace_rail", "anchor_post"}),
    "metres of wire": frozenset({"straining_wire", "stay_wire"}),
    "trees": frozenset({"tree"}),
}
"""Loads by the goods that count toward them; ids of `gardens/knowledge/materials/goods.toml`."""
NO_LIMIT = 10**6
PLANTING = frozenset({"plant", "replace_tree"})


def capacity_of(crew: Crew) -> dict[str, int]:
    """How much of each load the crew's van takes; a limit nobody set is none."""
    limits = {"posts": crew.carries_posts, "metres of wire": crew.carries_wire_m, "trees": crew.carries_trees}
    return {load: NO_LIMIT if limit is None else limit for load, limit in limits.items()}


def loads_of(visits: Sequence[Visit]) -> dict[int, dict[str, int]]:
    """What each visit's open jobs need in the van, by the visit's key; visits without a load are left out."""
    tasks = Task.objects.filter(work_order__visit__in=visits, state=Task.State.OPEN).values_list(
        "work_order__visit", "kind", "need__materials"
    )
    sums: dict[int, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for visit, kind, materials in tasks:
        for load, amount in _loads(kind, materials or ()):
            sums[visit][load] += amount
    return {visit: {load: math.ceil(amount) for load, amount in loads.items()} for visit, loads in sums.items()}


def _loads(kind: str, materials: Iterable[Sequence[object]]) -> Iterable[tuple[str, float]]:
    goods = {str(good): float(str(quantity)) for good, quantity in materials}
    for load, members in LOADS.items():
        if amount := sum(quantity for good, quantity in goods.items() if good in members):
            yield load, amount
    if kind in PLANTING and "tree" not in goods:
        # Each planted tree has its label; a job that names none plants one tree.
        yield "trees", goods.get("label", 1.0)
