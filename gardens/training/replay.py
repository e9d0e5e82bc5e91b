"""From records to the tree as it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growth import LEADER
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.starts import begin
from gardens.training.state import Record, TreeFacts, TreeState
from gardens.training.walk import ACCEPTED, FLAT_ENOUGH_DEG, Growing, Walk

GROWTH_OVER = 0.95
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
    state = walk.state()
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


def limbs_named(walk: Walk, name: str) -> list[Growing]:
    """The limbs a record speaks of: one by its key, a tier's, an arm on both sides, or all that have started."""
    if name in walk.limbs:
        return [walk.limbs[name]]
    if name == "leader":
        return [walk.leader]
    if name.startswith("tier:"):
        return [limb for limb in walk.limbs.values() if f"tier:{limb.place.limb.tier}" == name]
    if name == "whole":
        return [limb for limb in walk.limbs.values() if limb.season]
    return [limb for limb in walk.limbs.values() if limb.key.startswith(f"{name}:")]


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
    for limb in limbs_named(walk, record.limb):
        if record.what == "limb_length":
            _bring_into_being(walk, limb)
            _measure_length(walk, limb, record.value)
        elif record.what == "limb_angle" and limb is not walk.leader:
            _bring_into_being(walk, limb)
            limb.angle = record.value
            limb.status = "set" if abs(limb.angle - limb.final_angle) <= FLAT_ENOUGH_DEG else "tied"
        elif record.what == "season_growth":
            _measure_growth(walk, limb, record.value)


def _measure_leader(walk: Walk, height: float) -> None:
    stem = walk.leader
    if walk.plan.stem:
        rise = walk.leader_height() / stem.length if stem.length else 1.0
        height = height / rise if rise else height
    elif walk.leader_ended:
        return
    _measure_length(walk, stem, height)


def _measure_length(walk: Walk, limb: Growing, length: float) -> None:
    grown = max(0.0, limb.grown + length - limb.length)
    season = _season_grown(walk)
    if limb.base_known and season is not None:
        _note_growth(walk, limb, season, grown)
    limb.grown = grown
    limb.length = length
    limb.is_measured = True
    limb.base_known = limb.base_known or walk.today < walk.day(walk.season, seasons.GROWTH_STARTS)
    walk.note_if_full()


def _measure_growth(walk: Walk, limb: Growing, grown: float) -> None:
    season = _season_grown(walk)
    if season is None:
        return
    _note_growth(walk, limb, season, grown)
    if not limb.is_measured:
        limb.length = max(0.0, limb.length + grown - limb.grown)
    limb.grown = grown


def _season_grown(walk: Walk) -> int | None:
    """The season whose growth is over on the walk's day: this one from its end on, the last one while dormant."""
    southern = walk.facts.is_southern
    if walk.today < walk.day(walk.season, seasons.GROWTH_STARTS):
        return walk.season - 1
    return walk.season if seasons.share_grown(walk.today, southern=southern) >= GROWTH_OVER else None


def _note_growth(walk: Walk, limb: Growing, season: int, grown: float) -> None:
    if season < walk.first_season or not limb.season:
        return
    expected = walk.expected(limb, season) * (walk.prior.planting_share if season <= walk.first_season else 1.0)
    group = walk.group(limb)
    walk.growth = [row for row in walk.growth if row[:2] != (season, limb.key)]
    walk.growth.append((season, limb.key, round(grown)))
    walk.factors = [row for row in walk.factors if row[1:3] != (limb.key, season)]
    walk.factors.append((group, limb.key, season, grown / expected))
    walk.rates_for = 0 if walk.rates_for != walk.season else walk.rates_for


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
        if record.limb in ("whole", "trunk"):
            walk.is_lost = record.limb == "whole"
            return
        for limb in limbs_named(walk, record.limb):
            if limb is not walk.leader:
                walk.lose(limb, accepted=record.text.strip().lower() == ACCEPTED)
    elif record.what == "weak":
        for limb in limbs_named(walk, record.limb):
            limb.is_weak = record.value is None or record.value > 0


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
        return
    if walk.leader_ended:
        return
    walk.head_at(record.value)


def _chosen(walk: Walk, record: Record) -> None:
    for limb in limbs_named(walk, record.limb):
        if limb is walk.leader:
            continue
        if limb.status == "lost":
            limb.season, limb.status, limb.is_accepted = 0, "wanted", False
        _bring_into_being(walk, limb)
        limb.is_recorded = True
        if limb.status == "wanted":
            limb.status = "chosen"


def _tied(walk: Walk, record: Record) -> None:
    material = record.text.strip() or UNRECORDED_MATERIAL
    for limb in limbs_named(walk, record.limb):
        walk.put_tie(limb.key, material)
        if limb is walk.leader:
            continue
        _bring_into_being(walk, limb)
        limb.is_recorded = True
        if limb.status in ("wanted", "chosen"):
            limb.status = "tied"
        if record.value is not None and record.what == "tie_in":
            limb.angle = record.value


def _lowered(walk: Walk, record: Record) -> None:
    for limb in limbs_named(walk, record.limb):
        if limb is walk.leader or not limb.season:
            continue
        if record.value is not None and abs(record.value - limb.final_angle) > FLAT_ENOUGH_DEG:
            limb.angle, limb.status = record.value, "tied"
        else:
            walk.set_limb(limb)
        walk.put_tie(limb.key, record.text.strip() or UNRECORDED_MATERIAL)


def _ties_off(walk: Walk, record: Record) -> None:
    keys = {limb.key for limb in limbs_named(walk, record.limb)} | {record.limb}
    walk.ties = [tie for tie in walk.ties if tie.limb not in keys and record.limb != "whole"]


def _ties_renewed(walk: Walk, record: Record) -> None:
    if record.limb == "whole":
        for tie in walk.ties:
            walk.put_tie(tie.limb, record.text.strip() or tie.material or UNRECORDED_MATERIAL)
        return
    for limb in limbs_named(walk, record.limb):
        walk.put_tie(limb.key, record.text.strip() or UNRECORDED_MATERIAL)


def _shortened(walk: Walk, record: Record) -> None:
    for limb in limbs_named(walk, record.limb):
        if limb is walk.leader and not walk.plan.stem:
            continue
        walk.shortened.add((walk.season, limb.key))
        if record.value is not None and record.value < limb.length:
            limb.length, limb.base_known = record.value, True


def _renovated(walk: Walk, record: Record) -> None:
    if record.text.strip().lower() == "renovation finished":
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
GROUPS = (LEADER,)
