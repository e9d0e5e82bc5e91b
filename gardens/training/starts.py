"""How a tree stands on the day it is planted or taken over."""

from __future__ import annotations

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.growth import prior_for
from gardens.training.places import Place
from gardens.training.plan import plan
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.state import Limb, TreeFacts
from gardens.training.walk import Walk

FEATHERED_TALLER = 1.2
"""A feathered tree is about a year older than a whip and that much taller (from memory)."""
FULL_TREE_AGE = 4
FEATHERED_FAMILIES = ("tiers", "palmettes", "informal")
READY_LEADER_SHARE = 0.75
"""How much of a season's leader growth a bought trained tree shows above its last tier (own default)."""


def begin(facts: TreeFacts, form: FormRecord | None = None, practice: TrainingPractice = USUAL) -> Walk:
    """A tree on the day it is planted or taken over, in its starting point."""
    laid = plan(facts, form)
    limbs = {place.limb.key: Growing(place=place, angle=place.first_angle_deg) for place in laid.places}
    walk = Walk(
        facts=facts,
        form=form or knowledge.form(facts.form),
        plan=laid,
        practice=practice,
        prior=prior_for(facts),
        today=facts.planted_on,
        first_season=seasons.first_season(facts.planted_on, southern=facts.is_southern),
        limbs=limbs,
        grown_until=facts.planted_on,
        leader=limbs[laid.stem] if laid.stem else free_leader(facts),
    )
    walk.leader.is_estimated = True
    if laid.stem:
        _start_stem(walk)
        return walk
    walk.leader.length, walk.leader.season = walk.prior.whip_mm, walk.first_season
    if facts.start == "neglected":
        _take_tiers(walk, facts.tiers_at_start or laid.tiers, full=True)
    elif facts.start == "ready_trained":
        _take_tiers(walk, facts.tiers_at_start or 1, full=False)
    elif facts.start == "feathered":
        _take_feathers(walk)
    walk.note_if_full()
    return walk


def free_leader(facts: TreeFacts) -> Growing:
    """The leader of a form that cuts it from tier to tier; its length is its height above ground."""
    limb = Limb(key="leader", kind="leader", wanted_mm=facts.height_mm)
    place = Place(limb=limb, bearer="planting", cut_mm=0, wave=0, first_angle_deg=90.0)
    return Growing(place=place, angle=90.0, status="chosen")


def _start_stem(walk: Walk) -> None:
    stem = walk.leader
    height = walk.prior.whip_mm * (FEATHERED_TALLER if walk.facts.start != "whip" else 1.0)
    stem.season, stem.status, stem.angle = walk.first_season, "set", stem.final_angle
    stem.length = stem.wanted if walk.facts.start == "neglected" else min(stem.wanted, height)
    walk.note_if_full()


def _take_tiers(walk: Walk, tiers: int, *, full: bool) -> None:
    """The first tiers are there: fully grown on a tree taken over, short on one that was bought."""
    for limb in walk.limbs.values():
        if limb.place.limb.tier <= tiers:
            limb.season = walk.first_season - (FULL_TREE_AGE if full else 1)
            limb.length = limb.wanted if full else min(limb.wanted, walk.prior.ready_arm_mm)
            limb.is_estimated = True
            walk.set_limb(limb)
    made = [height for wave, height, _ in walk.plan.leader_cuts if wave <= tiers]
    rest = [height for wave, height, _ in walk.plan.leader_cuts if wave > tiers]
    walk.trunk_top = walk.leader.length = made[-1] if made else 0
    walk.leader_ended = not rest
    if rest:
        walk.leader.grown = walk.prior.leader * READY_LEADER_SHARE
        walk.leader.length += walk.leader.grown


def _take_feathers(walk: Walk) -> None:
    """Two feathers at the first wire are its arms; elsewhere a feathered tree is treated as a whip."""
    cut = walk.next_cut()
    walk.leader.length = walk.prior.whip_mm * FEATHERED_TALLER
    if (
        not cut
        or walk.form.family not in FEATHERED_FAMILIES
        or any(limb.place.bends_leader for limb in walk.on_leader(cut[0]))
    ):
        return
    for limb in walk.on_leader(cut[0]):
        walk.begin(limb, walk.first_season)
        limb.status, limb.is_estimated, limb.base_known = "chosen", True, False
        limb.length = min(limb.wanted, walk.prior.feather_mm)
        walk.trunk_top = max(walk.trunk_top, limb.place.along_mm)
    walk.leader_ended = cut[0] == walk.plan.leader_cuts[-1][0]
    if walk.leader_ended:
        walk.leader.length = walk.trunk_top
