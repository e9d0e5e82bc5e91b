"""The names under which side wood of a tree is written down on its page: what is known, and the next of each."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from gardens.models import Tree
from gardens.pruning.minutes import BEARING_LIMBS
from gardens.pruning.side_wood import SideShoot, side_wood
from gardens.services.rules import our_knowledge
from gardens.services.standing import records_of
from gardens.training import TreeState


def recordable_limbs(tree: Tree, state: TreeState, on: date) -> list[str]:
    """What a fact may be about: the limbs of the frame, and the side wood that is renewed."""
    return [*(limb.key for limb in state.limbs), *side_wood_keys(tree, state, on)]


def side_wood_keys(tree: Tree, state: TreeState, on: date) -> list[str]:
    """Laterals with their replacement shoots, or canes, where the species is renewed by them; empty for others."""
    renewal = our_knowledge().species[tree.species].facts.wood.renewal
    if renewal not in ("one_year_shoots", "canes"):
        return []
    wood = side_wood(records_of(tree), on=on, is_southern=tree.site.place.is_southern)
    known = [shoot.key for shoot in wood.shoots]
    if renewal == "canes":
        return [*known, _next("cane", wood.shoots)]
    laterals = [key for key in known if key.startswith("lateral:")]
    bearing = [limb.key for limb in state.limbs if limb.kind in BEARING_LIMBS and limb.status != "lost"]
    fresh = [_next(f"lateral:{key}", wood.shoots) for key in bearing]
    return list(dict.fromkeys([*known, *(f"shoot:{key}" for key in laterals), *fresh]))


def _next(stem: str, shoots: Iterable[SideShoot]) -> str:
    """The first free number of a kind of wood on its limb."""
    tails = (shoot.key.removeprefix(f"{stem}:") for shoot in shoots if shoot.key.startswith(f"{stem}:"))
    return f"{stem}:{max((int(tail) for tail in tails if tail.isdigit()), default=0) + 1}"
