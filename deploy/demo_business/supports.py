"""How the invented walls, fences and rows are built: most of them said, some left for the office to find out."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from business.errors import BadInput
from gardens.models import Support
from gardens.queries.trees import trees_on_support
from gardens.services.supports import BUILD_KEYS, save_build
from gardens.supports import EXAMPLES

LIKE = {"wall": "wall", "fence": "fence", "post_and_wire": "row"}
UNKNOWN_EVERY = 4
"""One support in so many was never looked at: its page says what is assumed."""

SLOPES = {5: 4.0, 9: -6.0}
FENCE_END = {
    "kind": "bracket",
    "diameter": "12 mm",
    "bolt_gap": "150 mm",
    "anchor": "wood",
    "thread": "80 mm",
    "timber": "oak",
}


def say_how_supports_are_built() -> int:
    """Builds for most supports; how many. One that does not fit its support is left out, as an office would."""
    told = 0
    for number, support in enumerate(Support.objects.select_related("site").prefetch_related("wires").order_by("pk")):
        if number % UNKNOWN_EVERY == 0:
            continue
        try:
            save_build(
                support=support,
                build=_build(support.kind, number),
                trees=list(trees_on_support(support.pk)),
                built_on=support.built_on,
            )
        except BadInput:
            continue
        told += 1
    return told


def _build(kind: str, number: int) -> dict[str, Any]:
    example = deepcopy(EXAMPLES[LIKE[kind]])
    build = {key: value for key, value in example.items() if key in BUILD_KEYS}
    if kind == "wall":
        build["end_fixing"] |= {"tested_n": 2500}
    elif kind == "fence":
        build |= {"end_fixing": FENCE_END, "wire": {"size": "2.5 mm", "grade": "soft_galvanised", "coating": "class_a"}}
    elif slope := SLOPES.get(number % 11):
        build["slope_percent"] = slope
    return build
