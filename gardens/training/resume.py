"""A walk taken up again from a state, to look ahead."""

from __future__ import annotations

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.growth import prior_for
from gardens.training.plan import plan
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.starts import free_leader
from gardens.training.state import TreeState
from gardens.training.walk import Walk

HEADINGS = ("whole", "leader", "trunk")
SHOOT_WORK = ("select_shoots", "tie_in", "lower_arms")


class _LastLook:
    """The walk of the state that was looked at last: its steps and its forecast are mostly asked for together."""

    seen: tuple[TreeState, TrainingPractice, FormRecord | None, Walk] | None = None


def look_at(state: TreeState, *, practice: TrainingPractice = USUAL, form: FormRecord | None = None) -> Walk:
    """The tree of a state, to be read only; `resume` gives one that may be carried on."""
    last = _LastLook.seen
    if last and last[0] is state and last[1] is practice and last[2] is form:
        return last[3]
    walk = resume(state, practice=practice, form=form)
    _LastLook.seen = (state, practice, form, walk)
    return walk


def resume(state: TreeState, *, practice: TrainingPractice = USUAL, form: FormRecord | None = None) -> Walk:
    """The tree of a state, ready to be carried on from its day."""
    facts = state.facts
    laid = plan(facts, form)
    stands = {limb.key: limb for limb in state.limbs}
    limbs = {place.limb.key: Growing.from_limb(place, stands.get(place.limb.key)) for place in laid.places}
    first_season = seasons.first_season(facts.planted_on, southern=facts.is_southern)
    leader = limbs[laid.stem] if laid.stem else free_leader(facts)
    if not laid.stem:
        leader.length, leader.season = float(state.leader_height_mm), first_season
        leader.grown = float(stands["leader"].grown_mm) if "leader" in stands else 0.0
    walk = Walk(
        facts=facts,
        form=form or knowledge.form(facts.form),
        plan=laid,
        practice=practice,
        prior=prior_for(facts),
        today=state.on,
        first_season=first_season,
        limbs=limbs,
        grown_until=state.on,
        leader=leader,
        trunk_top=float(stands["trunk"].length_mm) if "trunk" in stands else 0.0,
        leader_ended=not laid.stem and "leader" not in stands,
        ties=list(state.ties),
        girth=state.girth_mm,
        growth=list(state.growth_mm),
        done=list(state.done),
        notes=list(state.notes),
        full_since=state.full_since,
        is_lost=state.stage == "lost",
    )
    walk.renovation_over = state.stage not in ("renovating", "planted", "lost")
    _learn_again(walk)
    _recall_work(walk)
    return walk


def note_factor(walk: Walk, limb: Growing, season: int, grown: float) -> None:
    """Take one measured season of a limb into what is learnt; a later word on the same season replaces it."""
    walk.factors = [row for row in walk.factors if row[1:3] != (limb.key, season)]
    walk.factors.append((walk.group_of(limb), limb.key, season, grown / walk.expected(limb, season)))
    walk.learnt.clear()


def _learn_again(walk: Walk) -> None:
    for season, key, grown in walk.growth:
        limb = walk.leader if key == "leader" else walk.limbs.get(key)
        if limb and limb.season:
            note_factor(walk, limb, season, grown)
    walk.relearn()


def _recall_work(walk: Walk) -> None:
    """What was recorded since the season began is not asked for again; limbs that were worked on wait for a record."""
    season = walk.season
    start = walk.day(season, seasons.SEASON_STARTS)
    for day, kind, key in walk.done:
        if kind in SHOOT_WORK:
            for limb in walk.named(key):
                limb.is_recorded = (
                    limb.is_recorded or seasons.season_of(day, southern=walk.facts.is_southern) >= limb.season
                )
        if day >= start and kind == "head_back" and (key in HEADINGS or key.startswith("tier:")):
            walk.headed_season = season
        if day >= start and kind in ("shorten_arms", "head_back"):
            walk.shortened |= {(season, limb.key) for limb in walk.named(key)}
