"""How a tree stands on the day it is planted or taken over."""

from __future__ import annotations

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growth import prior_for
from gardens.training.places import Place, straight
from gardens.training.plan import plan
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.state import TreeFacts
from gardens.training.walk import Growing, Walk

FEATHERED_TALLER = 1.2
FULL_TREE_AGE = 4


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
        leader=limbs[laid.stem] if laid.stem else free_leader(facts),
    )
    _start(walk)
    return walk


def free_leader(facts: TreeFacts) -> Growing:
    """The leader of a form that cuts it from tier to tier; its length is its height above ground."""
    limb = straight("leader", "leader", (0, 0), 0, 90.0, facts.height_mm)
    place = Place(limb=limb, bearer="planting", cut_mm=0, wave=0, first_angle_deg=90.0)
    return Growing(place=place, angle=90.0, status="chosen")


def _start(walk: Walk) -> None:
    walk.estimated = True
    facts, prior = walk.facts, walk.prior
    if walk.plan.stem:
        stem = walk.limbs[walk.plan.stem]
        stem.season, stem.status = walk.first_season, "set"
        stem.length = min(stem.wanted, prior.whip_mm * (FEATHERED_TALLER if facts.start == "feathered" else 1.0))
        stem.angle = stem.final_angle
        if facts.start == "neglected":
            stem.length = stem.wanted
        return
    walk.leader.length = prior.whip_mm
    walk.leader.season = walk.first_season
    if facts.start == "neglected":
        _take_tiers(walk, facts.tiers_at_start or walk.plan.tiers, full=True)
    elif facts.start == "ready_trained":
        _take_tiers(walk, min(facts.tiers_at_start or 1, walk.plan.tiers), full=False)
    elif facts.start == "feathered":
        _take_feathers(walk)


def _take_tiers(walk: Walk, tiers: int, *, full: bool) -> None:
    for limb in walk.limbs.values():
        if limb.place.limb.tier <= tiers:
            limb.season = walk.first_season - (FULL_TREE_AGE if full else 1)
            limb.length = limb.wanted if full else min(limb.wanted, walk.prior.ready_arm_mm)
            limb.status, limb.angle = "set", limb.final_angle
    waves = [(wave, height) for wave, height, _ in walk.plan.leader_waves]
    made = [height for wave, height in waves if wave <= tiers]
    rest = [height for wave, height in waves if wave > tiers]
    walk.trunk_top = made[-1] if made else 0
    walk.leader_ended = not rest
    if rest:
        walk.leader.length = walk.trunk_top + walk.prior.leader * 0.75
        walk.leader.grown = walk.prior.leader * 0.75
    else:
        walk.leader.length = walk.trunk_top


def _take_feathers(walk: Walk) -> None:
    walk.leader.length = walk.prior.whip_mm * FEATHERED_TALLER
    cut = walk.next_cut()
    if not cut or walk.form.family not in ("tiers", "palmettes", "informal"):
        return
    wave, height = cut
    walk.leader.grown = max(0.0, walk.leader.length - height) * 0.5
    for place in walk.plan.places:
        if place.bearer == "leader" and place.wave == wave:
            limb = walk.limbs[place.limb.key]
            limb.season, limb.status = walk.first_season, "chosen"
            limb.length, limb.angle = walk.prior.feather_mm, place.first_angle_deg
    walk.trunk_top = height - 50
