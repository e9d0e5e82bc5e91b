"""What a crew must mind before it starts on a tree."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from gardens.knowledge import load_knowledge
from gardens.models import Tree

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


LADDER_ABOVE_MM = 1900
"""Below this the work is done from the ground."""
