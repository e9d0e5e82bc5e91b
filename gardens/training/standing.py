"""How the tree of a walk stands: its stage, its tiers, its state."""

from __future__ import annotations

import math

from gardens.training import seasons
from gardens.training.state import Limb, TreeStage, TreeState
from gardens.training.walk import Walk


def stage_of(walk: Walk) -> TreeStage:
    """The stage of the tree today."""
    if walk.is_lost:
        return "lost"
    season = walk.season
    if season >= walk.first_season and walk.is_neglected(season):
        return "renovating"
    counted = [limb for limb in walk.limbs.values() if not limb.is_accepted]
    begun = [limb for limb in counted if limb.season]
    new = season < walk.first_season or walk.today < walk.day(walk.first_season, seasons.GROWTH_STARTS)
    if (new and (not begun or walk.plan.stem)) or (season <= walk.first_season and not begun):
        return "planted"
    if any(limb.status != "set" for limb in counted):
        return "forming"
    return "full" if walk.is_full() else "extending"


def tiers_set(walk: Walk) -> int:
    """How many tiers stand in their final place."""
    tiers: dict[int, bool] = {}
    for limb in walk.limbs.values():
        tier = limb.place.limb.tier
        tiers[tier] = tiers.get(tier, True) and (limb.is_accepted or limb.status == "set")
    return sum(tiers.values())


def leader_height(walk: Walk) -> float:
    """How high the leader, or a slanted stem, reaches. [mm above ground]"""
    rise = math.sin(math.radians(walk.leader.angle)) if walk.plan.stem else 1.0
    return walk.leader.length * rise


def state_of(walk: Walk) -> TreeState:
    """The tree as it stands today."""
    walk.relearn()
    limbs = [limb.as_limb() for limb in walk.limbs.values()]
    return TreeState(
        facts=walk.facts,
        on=walk.today,
        stage=stage_of(walk),
        tiers_set=tiers_set(walk),
        leader_height_mm=round(leader_height(walk)),
        limbs=tuple(limbs if walk.plan.stem else [*_trunk_and_leader(walk), *limbs]),
        ties=tuple(walk.ties),
        girth_mm=walk.girth,
        growth_mm=tuple(sorted(walk.growth)),
        done=tuple(walk.done),
        notes=tuple(walk.notes),
        estimated=any(limb.is_estimated for limb in walk.moving()),
        full_since=walk.full_since,
        vigour=tuple((group, learnt.group.mean) for group, learnt in walk.learnt.items()),
    )


def _trunk_and_leader(walk: Walk) -> list[Limb]:
    height, top = round(walk.leader.length), round(walk.trunk_top)
    wanted = max(walk.plan.trunk_mm, top)
    trunk = Limb(
        key="trunk",
        kind="trunk",
        status="set" if top else "wanted",
        length_mm=top,
        wanted_mm=wanted,
        parent="",
        season=walk.first_season,
    )
    if walk.leader_ended or height <= top:
        return [trunk]
    cut = walk.next_cut()
    leader = Limb(
        key="leader",
        kind="leader",
        status="chosen",
        length_mm=height - top,
        wanted_mm=max(0, round(cut[1]) - top) if cut else 0,
        origin_y_mm=top,
        season=walk.first_season,
        grown_mm=round(walk.leader.grown),
    )
    return [trunk, leader]
