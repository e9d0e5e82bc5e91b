"""What a crew must mind before it starts on a tree."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from gardens.knowledge import load_knowledge
from gardens.knowledge.material_book import materials
from gardens.models import Support, Tree

MOST = 4
"""More cautions than a person reads are none."""


def cautions_for(tree: Tree, kinds: Iterable[str], on: date) -> list[str]:
    """The cautions of this species and these kinds of work on this day, the species' own first."""
    knowledge = load_knowledge()
    wanted = set(kinds)
    species = knowledge.species.get(tree.species)
    month = on.month if not tree.site.place.is_southern else (on.month + 5) % 12 + 1
    rows = [*(species.cautions if species else ()), *knowledge.hazards.caution]
    fitting = [
        row.text
        for row in rows
        if (not row.kinds or wanted & set(row.kinds)) and (not row.months or month in row.months)
    ]
    if tree.support.height_mm < LADDER_ABOVE_MM:
        fitting = [row.text for row in rows if row.text in fitting and row.topic != "ladder"]
    return list(dict.fromkeys(fitting))[:MOST]


def cautions_for_support(support: Support, kinds: Iterable[str]) -> list[str]:
    """What a crew must mind before it works on wires, fixings or posts, and where it stops and asks.

    Any work on a support touches tight wire; posts mean digging, a wall is only as good as its masonry and is drilled
    where something is fixed anew.
    """
    done = set(kinds)
    when = {"wire", "always"}
    if support.kind == Support.Kind.POST_AND_WIRE and done & {"erect_support", "straighten_posts"}:
        when |= {"digging", "freestanding"}
    if support.kind == Support.Kind.WALL:
        when |= {"masonry", "drilling"} if "erect_support" in done else {"masonry"}
    if max(support.wire_heights_mm, default=0) > LADDER_ABOVE_MM:
        when.add("height")
    if support.height_mm > materials().limit("ask_height_mm"):
        when.add("qualified")
    return [caution.text for caution in materials().cautions_for(*when)]


LADDER_ABOVE_MM = 1900
"""Below this the work is done from the ground."""
