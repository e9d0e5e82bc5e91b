"""When a tie begins to bite.

A tie bites when the wood has thickened by more than the tie gives, or when it has stayed longer than its kind may:
one season on wood under 15 mm, longer on older wood (growers' accounts: thin jute nearly girdled young arms in one
season). What a material gives stands with its life in materials/ties.toml.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from functools import lru_cache

from business.errors import BadInput
from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.material_book import find, materials
from gardens.knowledge.material_schema import Tie as TieKind
from gardens.training import seasons
from gardens.training.growth import Prior, prior_for
from gardens.training.state import Tie, TreeState

SAFEST = "jute"
NEW_SHOOT_MM = 6.0
LONGEST_SEASONS = 6


@lru_cache(maxsize=256)
def tie_kind(material: str) -> TieKind:
    """What is known of a tie's material; one nobody knows is taken as jute, which bites soonest."""
    try:
        return find(materials().ties, material or SAFEST, where="tie material")
    except BadInput:
        return find(materials().ties, SAFEST, where="tie material")


def girdling_alarm(tie: Tie, state: TreeState, growth: Prior | None = None) -> date:
    """The day a tie should be off or renewed, before it bites into the bark.

    Args:
        tie: the tie, with the day it went on and its material.
        state: the tree it is on.
        growth: the tree's growth, if other than the prior by its species and rootstock.
    """
    kind = tie_kind(tie.material)
    prior = growth or prior_for(state.facts)
    southern = state.facts.is_southern
    season = seasons.season_of(tie.since, southern=southern)
    thickness = thickness_mm(state, tie.limb, season)
    young = thickness < knowledge.growth_figures()["young_wood_mm"].value
    life = kind.young_seasons if young else kind.old_seasons
    if life == 0:
        return tie.since
    last = seasons.day_of(season + life - 1, seasons.ARMS_LOWERED, southern=southern)
    if last <= tie.since + timedelta(days=90):
        last = seasons.day_of(season + life, seasons.GROWTH_ENDS, southern=southern)
    return min(last, _bitten(tie, state, prior, kind.gives_mm))


def thickness_mm(state: TreeState, key: str, season: int) -> float:
    """A limb's thickness at its foot in a season, from its age. [mm]"""
    limb = state.limb(key)
    if key in ("trunk", "whole") and state.girth_mm:
        return state.girth_mm / 3.1416
    age = max(0, season - limb.season) if limb and limb.season else 0
    yearly = knowledge.growth_figures()["thickness_per_growth"].value * 400
    return NEW_SHOOT_MM + yearly * age


def _bitten(tie: Tie, state: TreeState, prior: Prior, gives: float) -> date:
    southern = state.facts.is_southern
    limb = state.limb(tie.limb)
    learnt = dict(state.vigour).get("leader" if tie.limb == "leader" else "arms", 1.0)
    measured = {year: grown for year, key, grown in state.growth_mm if key == tie.limb}
    rate = knowledge.growth_figures()["thickness_per_growth"].value
    day, left = tie.since, gives
    season = seasons.season_of(tie.since, southern=southern)
    for year in range(season, season + LONGEST_SEASONS):
        age = max(0, year - limb.season) if limb and limb.season else 0
        expected = prior.mean(limb.angle_deg if limb else 90.0, age, is_leader=tie.limb == "leader") * learnt
        thicker = measured.get(year, expected) * rate
        start = seasons.share_grown(day, southern=southern) if year == season else 0.0
        if thicker * (1 - start) >= left:
            return day_of_share(year, start + left / thicker, southern=southern)
        left -= thicker * (1 - start)
    return seasons.day_of(season + LONGEST_SEASONS, seasons.GROWTH_ENDS, southern=southern)


def day_of_share(season: int, share: float, *, southern: bool) -> date:
    """The day by which a share of a season's growth is made: the inverse of `seasons.share_grown`."""
    start = seasons.day_of(season, seasons.GROWTH_STARTS, southern=southern)
    end = seasons.day_of(season, seasons.GROWTH_ENDS, southern=southern)
    done = 0.5 - math.sin(math.asin(1 - 2 * min(1.0, max(0.0, share))) / 3)
    return start + timedelta(days=math.ceil(done * (end - start).days))
