"""The pictures and words of a client's own pages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString, mark_safe

from business import clock
from business.models import Client
from business.queries.profile import our_profile
from gardens.drawing import Options, draw_tree
from gardens.models import Tree
from gardens.services.practice import our_practice
from gardens.services.standing import outlook, picture_of_tree
from gardens.services.words import full_words, tree_fact
from gardens.training import TrainingPractice
from gardens.units import Units


@dataclass(frozen=True, kw_only=True)
class TreeShown:
    """One tree as it stands today."""

    tree: Tree
    drawing: SafeString
    fact: str
    full: str


def trees_shown(trees: Iterable[Tree], units: Units) -> list[TreeShown]:
    practice = our_practice()
    return [_shown(tree, clock.today(tree.site.zone), units, practice) for tree in trees]


def units_of(client: Client) -> Units:
    """The client's own units, else ours."""
    return "imperial" if (client.units or our_profile().units) == "imperial" else "metric"


def _shown(tree: Tree, on: date, units: Units, practice: TrainingPractice) -> TreeShown:
    found = outlook(tree, on, practice)
    options = Options(width_px=460, max_height_mm=90, units=units, id_prefix=f"tree{tree.pk}")
    return TreeShown(
        tree=tree,
        drawing=mark_safe(draw_tree(found.state, (), picture_of_tree(tree), options)),  # noqa: S308 - our own core
        fact=tree_fact(tree, found.state),
        full=full_words(found),
    )
