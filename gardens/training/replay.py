"""From records to the tree as it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.places import SLANTED_DEG
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.resume import note_factor
from gardens.training.standing import leader_height, state_of
from gardens.training.starts import FEATHERED_FAMILIES, begin
from gardens.training.state import Record, TreeFacts, TreeState
from gardens.training.walk import Walk

GROWTH_OVER = 0.95
"""Share of a season's extension from which a length tells the season's growth."""
HELD_SHARE = 0.98
"""A limb this near to the end of its place is held there: its length no longer tells its growth."""
ACCEPTED = "accepted"
RENOVATED = "renovation finished"
UNRECORDED_MATERIAL = "not recorded"


def fold(
    facts: TreeFacts,
    records: Iterable[Record],
    on: date,
    *,
    practice: TrainingPractice = USUAL,
    form: FormRecord | None = None,
) -> TreeState:
    """The tree as it stands on a day.

    The records may come in any order; those after ``on`` are left out. The same facts and records always give the same
    state, so a record that is added late or corrected (the caller leaves the wrong one out) falls into its own place.

    Args:
        facts: what was decided at planting.
        records: everything recorded about this tree.
        on: the day asked about.
        practice: how the business trains.
        form: another record of the form than the one in its file.
    """
    known = sorted((record for record in records if record.on <= on), key=_order)
    walk = begin(_replanted(facts, known), form, practice)
    for record in known:
        walk.advance(record.on)
        _take(walk, record)
    walk.advance(on)
    state = state_of(walk)
    return replace(state, on=on) if state.on != on else state


def _order(record: Record) -> tuple[date, str, str, str, str, float, str]:
    value = float("-inf") if record.value is None else record.value
    return (record.on, record.key, record.kind, record.what, record.limb, value, record.text)


def _replanted(facts: TreeFacts, records: list[Record]) -> TreeFacts:
    """After a `replace_tree` the tree begins anew as a whip; what was recorded before belongs to the old one."""
    last = max((i for i, r in enumerate(records) if r.kind == "done" and r.what == "replace_tree"), default=None)
    if last is None:
        return facts
    planted_on = records[last].on
    del records[: last + 1]
    return replace(facts, planted_on=planted_on, start="whip", tiers_at_start=0)


def _take(walk: Walk, record: Record) -> None:
    if walk.is_lost:
        return
    if record.kind == "measured":
        _take_measured(walk, record)
    elif record.kind == "seen":
        _take_seen(walk, record)
    else:
        _take_done(walk, record)


# -- measured -----------------------------------------------------------------------------------------------------


def _take_measured(walk: Walk, record: Record) -> None:
    if record.value is None or record.value < 0:
        return
    if record.what == "trunk_girth":
        walk.girth = round(record.value)
        return
    if record.what == "leader_height":
        _measure_leader(walk, record.value)
        return
    for limb in walk.named(record.limb):
        if record.what == "limb_length" and not walk.is_free_leader(limb):
            _revive(limb)
            _bring_into_being(walk, limb)
            _measure_length(walk, limb, record.value)
        elif record.what == "limb_angle" and not walk.is_free_leader(limb) and limb.status != "lost":
            _bring_into_being(walk, limb)
            _bring_to(walk, limb, record.value)
        elif record.what == "season_growth":
            _measure_growth(walk, limb, record.value)


def _bring_to(walk: Walk, limb: Growing, angle: float) -> None:
    """A limb stands at an angle: near its final one it is set; on a form that was full it stays set at any other."""
    limb.angle = min(90.0, angle)
    if abs(limb.angle - limb.final_angle) <= SLANTED_DEG:
        limb.status = "set"
    elif walk.full_since is None or limb.status != "set":
        limb.status = "tied"


def _measure_leader(walk: Walk, height: float) -> None:
    if walk.plan.stem:
        rise = leader_height(walk) / walk.leader.length if walk.leader.length else 1.0
        _measure_length(walk, walk.leader, height / rise)
    elif not walk.leader_ended:
        _measure_length(walk, walk.leader, max(height, walk.trunk_top))


def _measure_length(walk: Walk, limb: Growing, length: float) -> None:
    grown = max(0.0, limb.grown + length - limb.length)
    season = _season_grown(walk)
    is_held = not walk.is_free_leader(limb) and length >= limb.wanted * HELD_SHARE
    if limb.base_known and season is not None and not is_held:
        _note_growth(walk, limb, season, grown)
    limb.grown, limb.length = grown, length
    limb.is_estimated = False
    limb.base_known = limb.base_known or walk.today < walk.day(walk.season, seasons.GROWTH_STARTS)
    walk.note_if_full()


def _measure_growth(walk: Walk, limb: Growing, grown: float) -> None:
    season = _season_grown(walk)
    if season is None:
        return
    _note_growth(walk, limb, season, grown)
    if limb.is_estimated:
        limb.length = max(0.0, limb.length + grown - limb.grown)
    limb.grown = grown


def _season_grown(walk: Walk) -> int | None:
    """The season whose growth is over on the walk's day: this one from its end on, the last one while dormant."""
    if walk.today < walk.day(walk.season, seasons.GROWTH_STARTS):
        return walk.season - 1
    over = seasons.share_grown(walk.today, southern=walk.facts.is_southern) >= GROWTH_OVER
    return walk.season if over else None


def _note_growth(walk: Walk, limb: Growing, season: int, grown: float) -> None:
    if season < max(walk.first_season, limb.season) or not limb.season:
        return
    walk.growth = [row for row in walk.growth if row[:2] != (season, limb.key)]
    walk.growth.append((season, limb.key, round(grown)))
    note_factor(walk, limb, season, grown)


def _revive(limb: Growing) -> None:
    """A lost limb that somebody measured or chose has a shoot in its place again."""
    if limb.status == "lost":
        limb.season, limb.status, limb.is_accepted, limb.lost_in = 0, "wanted", False, 0


def _bring_into_being(walk: Walk, limb: Growing) -> None:
    """A limb that somebody measured or worked on exists, whatever the estimate said."""
    if limb.season:
        return
    limb.status = "wanted"
    walk.open_for(limb, max(walk.first_season, walk.season))
    limb.base_known = False


# -- seen ---------------------------------------------------------------------------------------------------------


def _take_seen(walk: Walk, record: Record) -> None:
    if record.what == "lost":
        _see_lost(walk, record)
    elif record.what == "weak":
        for limb in walk.named(record.limb):
            limb.is_weak = record.value is None or record.value > 0
    elif record.what == "note":
        walk.notes.append((record.on, record.limb, record.text))


def _see_lost(walk: Walk, record: Record) -> None:
    if record.limb in ("whole", "trunk"):
        walk.is_lost = True
        return
    for limb in walk.named(record.limb):
        if walk.is_free_leader(limb):
            walk.leader.length, walk.leader.grown = walk.trunk_top, 0.0
        elif _was_only_a_feather(walk, limb):
            limb.season, limb.status, limb.length = 0, "wanted", 0.0
            walk.leader_ended, walk.trunk_top = False, 0.0
            walk.leader.length = max(walk.leader.length, walk.prior.whip_mm)
        elif limb.key == walk.plan.stem:
            walk.is_lost = True
        else:
            walk.lose(limb, accepted=record.text.strip().lower() == ACCEPTED)


def _was_only_a_feather(walk: Walk, limb: Growing) -> bool:
    """A feather that proved useless at planting: the tree is a whip there and is headed at the wire after all."""
    return (
        walk.facts.start == "feathered"
        and walk.form.family in FEATHERED_FAMILIES
        and limb.season == walk.first_season
        and limb.place.wave == 1
        and walk.headed_season < walk.first_season
        and walk.today < walk.day(walk.first_season, seasons.GROWTH_STARTS)
    )


# -- done ---------------------------------------------------------------------------------------------------------


def _take_done(walk: Walk, record: Record) -> None:
    walk.done.append((record.on, record.what, record.limb))
    if act := _DONE.get(record.what):
        act(walk, record)


def _headed(walk: Walk, record: Record) -> None:
    if record.limb not in ("whole", "leader", "trunk") and not record.limb.startswith("tier:"):
        _shortened(walk, record)
        return
    if walk.plan.stem:
        if record.value is not None:
            walk.leader.length = min(walk.leader.length, record.value)
        walk.headed_season = walk.season
        return
    walk.head_at(record.value)


def _chosen(walk: Walk, record: Record) -> None:
    for limb in _shoots_of(walk, record.limb):
        if limb is walk.leader:
            continue
        _revive(limb)
        _bring_into_being(walk, limb)
        limb.is_recorded = True
        if limb.status == "wanted":
            limb.status = "chosen"


def _shoots_of(walk: Walk, name: str) -> list[Growing]:
    """The limbs whose shoots were chosen; choosing on a limb in its place means those that spring from it."""
    named = walk.named(name)
    if len(named) == 1 and named[0].status == "set":
        return [
            limb
            for limb in walk.limbs.values()
            if limb.place.bearer == named[0].key and walk.may_rise(limb, walk.season)
        ]
    return named


def _tied(walk: Walk, record: Record) -> None:
    material = record.text.strip() or UNRECORDED_MATERIAL
    for limb in walk.named(record.limb):
        if record.limb == limb.key:
            _revive(limb)
        walk.put_tie(limb.key, material)
        if limb is walk.leader or limb.status == "lost":
            continue
        _bring_into_being(walk, limb)
        limb.is_recorded = True
        if limb.status in ("wanted", "chosen"):
            limb.status = "tied"
        if record.value is not None:
            limb.angle = min(90.0, record.value)


def _lowered(walk: Walk, record: Record) -> None:
    for limb in walk.named(record.limb):
        if walk.is_free_leader(limb) or not limb.is_alive:
            continue
        if limb.key == walk.plan.stem:
            limb.angle = limb.angle if record.value is None else min(90.0, max(1.0, record.value))
        elif record.value is None:
            walk.set_limb(limb)
        else:
            _bring_to(walk, limb, record.value)
            limb.is_recorded = True
        walk.put_tie(limb.key, record.text.strip() or UNRECORDED_MATERIAL)


def _ties_off(walk: Walk, record: Record) -> None:
    keys = {limb.key for limb in walk.named(record.limb)} | {record.limb}
    walk.ties = [tie for tie in walk.ties if tie.limb not in keys and record.limb != "whole"]


def _ties_renewed(walk: Walk, record: Record) -> None:
    if record.limb == "whole":
        for tie in walk.ties:
            walk.put_tie(tie.limb, record.text.strip() or tie.material or UNRECORDED_MATERIAL)
        return
    for limb in walk.named(record.limb):
        walk.put_tie(limb.key, record.text.strip() or UNRECORDED_MATERIAL)


def _shortened(walk: Walk, record: Record) -> None:
    for limb in walk.named(record.limb):
        if walk.is_free_leader(limb) or not limb.is_alive:
            continue
        walk.shortened.add((walk.season, limb.key))
        if record.value is not None:
            limb.length, limb.base_known, limb.is_estimated = record.value, True, False


def _renovated(walk: Walk, record: Record) -> None:
    if record.text.strip().lower() == RENOVATED:
        walk.renovation_over = True


_DONE: dict[str, Callable[[Walk, Record], None]] = {
    "head_back": _headed,
    "select_shoots": _chosen,
    "tie_in": _tied,
    "lower_arms": _lowered,
    "remove_ties": _ties_off,
    "renew_ties": _ties_renewed,
    "shorten_arms": _shortened,
    "winter_prune": _renovated,
    "renew_wood": _renovated,
}
