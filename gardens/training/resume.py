"""A walk taken up again from a state, to look ahead."""

from __future__ import annotations

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growth import ARMS, LEADER, prior_for
from gardens.training.plan import plan
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.starts import free_leader
from gardens.training.state import TreeState
from gardens.training.walk import Growing, Walk


def resume(state: TreeState, *, practice: TrainingPractice = USUAL, form: FormRecord | None = None) -> Walk:
    """The tree of a state, ready to be carried on from its day."""
    facts = state.facts
    laid = plan(facts, form)
    stands = {limb.key: limb for limb in state.limbs}
    limbs: dict[str, Growing] = {}
    for place in laid.places:
        limb = stands.get(place.limb.key)
        growing = Growing(place=place, angle=place.first_angle_deg)
        if limb:
            growing.status, growing.season, growing.angle = limb.status, limb.season, limb.angle_deg
            growing.length, growing.grown, growing.is_weak = float(limb.length_mm), float(limb.grown_mm), limb.is_weak
        limbs[place.limb.key] = growing
    leader = limbs[laid.stem] if laid.stem else free_leader(facts)
    if not laid.stem:
        leader.length = float(state.leader_height_mm)
        leader.grown = float(stands["leader"].grown_mm) if "leader" in stands else 0.0
        leader.season = seasons.first_season(facts.planted_on, southern=facts.is_southern)
    walk = Walk(
        facts=facts,
        form=form or knowledge.form(facts.form),
        plan=laid,
        practice=practice,
        prior=prior_for(facts),
        today=state.on,
        first_season=seasons.first_season(facts.planted_on, southern=facts.is_southern),
        limbs=limbs,
        leader=leader,
        trunk_top=float(stands["trunk"].length_mm) if "trunk" in stands else 0.0,
        ties=list(state.ties),
        girth=state.girth_mm,
        growth=list(state.growth_mm),
        done=list(state.done),
        full_since=state.full_since,
        is_lost=state.stage == "lost",
        estimated=state.estimated,
    )
    walk.leader_ended = not laid.stem and "leader" not in stands
    _learn_again(walk)
    season = walk.season
    start = walk.day(season, seasons.SEASON_STARTS)
    for on, kind, limb_key in state.done:
        if on >= start and kind == "head_back" and limb_key in ("whole", "leader", "trunk"):
            walk.headed_season = season
        if on >= start and kind == "shorten_arms":
            walk.shortened |= {
                (season, key) for key in walk.limbs if limb_key in ("whole", key) or key.startswith(limb_key)
            }
    return walk


def _learn_again(walk: Walk) -> None:
    for season, key, grown in walk.growth:
        limb = walk.leader if key == "leader" else walk.limbs.get(key)
        if limb is None or (not limb.season and limb is not walk.leader):
            continue
        angle = limb.place.first_angle_deg if season == limb.season else limb.final_angle
        is_leader = limb is walk.leader and not walk.plan.stem
        expected = walk.prior.mean(angle, max(0, season - limb.season), is_leader=is_leader)
        expected *= walk.prior.planting_share if season <= walk.first_season else 1.0
        walk.factors.append((LEADER if is_leader else ARMS, key, season, grown / expected))
    walk.relearn()
