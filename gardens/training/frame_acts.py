"""Acts on the frame of a tree with a leader: heading, shortening, and the turns of single forms."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training.growing import Growing
from gardens.training.season_view import SeasonView, at, to
from gardens.training.state import Step
from gardens.training.words import beside_wire, listed, name_of, number_word, ordinal

LEAST_SHORTENING_MM = 30
"""Nobody is sent to take off less than this. [mm]"""


def called(view: SeasonView, limb: Growing) -> str:
    """A limb's name, without its tier where only one tier has arms."""
    return name_of(limb.place.limb, many_tiers=view.has_tiers)


def heading(view: SeasonView) -> Iterator[Step]:
    """The leader's cut: at the next wire if it reaches it, a third of its growth if not."""
    if view.facts.start == "feathered" and view.age == 1:
        yield from _taking_feathers(view)
    if not view.cut:
        return
    wave, height = view.cut
    bends = any(limb.place.bends_leader for limb in view.walk.on_leader(wave))
    if view.walk.must_wait(wave, view.year):
        keep = view.walk.trunk_top
        yield from view.step(
            "leader_to_one_bud",
            "leader",
            f"Cut the leader to one bud, {view.length(keep + 30)} above the ground: the first arms come first.",
            part=view.frame_part,
            at=at(keep + 30),
        )
    elif view.reaches and not bends:
        yield from _head_at_wire(view, wave, height)
    elif not view.reaches:
        yield from _leader_is_short(view, wave)


def _head_at_wire(view: SeasonView, wave: int, height: float) -> Iterator[Step]:
    wire, name = view.wire(wave)
    rule = "head_last" if view.is_last(wave) else "head"
    beside = beside_wire(height, wire, name, view.units)
    beside = f", {beside}," if beside else ""
    limbs = [limb for limb in view.about_to_start if limb.place.bearer == "leader"]
    up = 0 if view.is_last(wave) else 1
    buds = number_word(len(limbs) + up)
    sides = listed(["one to go up"] * up + [_bud_for(limb) for limb in limbs])
    yield from view.step(
        rule,
        "leader",
        f"Cut the leader {view.length(height)} above the ground{beside} just above a sound bud; "
        f"keep {buds} good bud{'s' if buds != 'one' else ''} below the cut: {sides}.",
        part=view.frame_part,
        at=at(height),
    )


def _bud_for(limb: Growing) -> str:
    side = limb.place.limb.side
    return "one to go on upward" if side == 0 else f"one on the {'left' if side < 0 else 'right'}"


def _leader_is_short(view: SeasonView, wave: int) -> Iterator[Step]:
    wire, name = view.wire(wave)
    place = name or f"the place of tier {wave}"
    leader, off = view.walk.leader, view.walk.short_cut()
    if off >= LEAST_SHORTENING_MM:
        left = leader.length - off
        gap = cut[1] - leader.length if (cut := view.cut) else 0.0
        yield from view.step(
            "leader_short",
            "leader",
            f"Cut {view.length(off)} off the leader, to {view.length(left)} above the ground: "
            f"it is {view.length(gap)} short of its cut at {place}.",
            part=view.frame_part,
            at=at(left),
        )
        return
    yield from view.step(
        "leader_waits",
        "leader",
        f"Leave the leader whole: it stands {view.length(leader.length)} high, {place} is at {view.length(wire)}.",
        part=view.frame_part,
    )


def _taking_feathers(view: SeasonView) -> Iterator[Step]:
    arms = [limb for limb in view.starting if limb.place.wave == 1 and limb.status == "chosen"]
    if not arms:
        return
    angle = arms[0].place.first_angle_deg
    _, name = view.wire(1)
    yield from view.step(
        "take_feathers",
        "tier:1",
        f"Keep the strongest feather on each side at {name or 'the height of the first arms'}, tie both at {angle:.0f}° "
        f"and cut the others off flush.",
        at=to(angle),
    )


def shortening(view: SeasonView) -> Iterator[Step]:
    """How much of last season's growth comes off each limb, and what grows beyond its place."""
    if not view.before_growth or view.is_renovating:
        return
    if view.state.stage == "full":
        yield from view.step(
            "end_of_run",
            "whole",
            "Cut what each limb grew beyond its end back to where that growth began.",
            part=view.frame_part,
        )
        return
    for limb in view.standing:
        if (view.year, limb.key) not in view.walk.shortened:
            yield from _shorten(view, limb)


def _shorten(view: SeasonView, limb: Growing) -> Iterator[Step]:
    if limb.length >= limb.wanted * view.practice.full_share:
        if any(shoot.place.bearer == limb.key for shoot in view.about_to_start):
            yield from _head_fork(view, limb)
        elif not _ends_in_limbs(view, limb):
            yield from view.step(
                "end_of_run",
                limb.key,
                f"Cut what {called(view, limb)} grew beyond {view.length(limb.wanted)} from its start back to there.",
                part=view.frame_part,
                at=at(limb.wanted),
            )
        return
    off = view.walk.winter_cut(limb, view.year)
    if off < LEAST_SHORTENING_MM:
        return
    bud = "outward" if limb.place.limb.kind == "axis" else "down"
    yield from view.step(
        _rule_for_cut(view, limb),
        limb.key,
        f"Cut {view.length(off)} off {called(view, limb)}, to {view.length(limb.length - off)} from its start, above a "
        f"bud that looks {bud}.",
        part=view.frame_part,
        at=at(limb.length - off),
    )


def _head_fork(view: SeasonView, limb: Growing) -> Iterator[Step]:
    shoots = [shoot for shoot in view.about_to_start if shoot.place.bearer == limb.key]
    if not _ends_in_limbs(view, limb):
        return
    yield from view.step(
        "head_fork",
        limb.key,
        f"Cut {called(view, limb)} {view.length(limb.wanted)} from its start; keep {number_word(len(shoots))} good buds below "
        f"the cut, one to each side.",
        part=view.frame_part,
        at=at(limb.wanted),
    )


def _ends_in_limbs(view: SeasonView, limb: Growing) -> bool:
    """Whether a limb forks at its end, so that it has no tip of its own to cut."""
    near_end = limb.wanted * view.practice.full_share
    return any(other.place.bearer == limb.key and other.place.along_mm >= near_end for other in view.limbs)


def _rule_for_cut(view: SeasonView, limb: Growing) -> str:
    if limb.place.bends_leader:
        return "shorten_bent"
    if limb.place.winter_share is not None:
        return "shorten_form"
    return "shorten_by_angle" if view.practice.arm_winter_cut in ("by_angle", "tip") else "shorten_weak"


def bending_over(view: SeasonView) -> Iterator[Step]:
    """A one-armed step-over: the supple stem itself is bent to the wire."""
    limb = next((limb for limb in view.starting if limb.place.bends_leader), None)
    if limb and limb.status != "set":
        wire, _ = view.wire(1)
        yield from view.step(
            "bend_stem",
            limb.key,
            f"Bend the stem over at {view.length(wire)} toward the {'left' if limb.place.limb.side < 0 else 'right'}, "
            f"a little lower every two weeks, until it lies along the wire.",
            at=to(0.0),
        )


def turning_up(view: SeasonView) -> Iterator[Step]:
    """Uprights that have reached their line are turned up, the outermost first."""
    for limb in view.limbs:
        foot = limb.foot
        expected = view.walk.expected(limb, view.year) if limb.is_alive or limb in view.about_to_start else 0.0
        grown = limb.grown if not view.before_growth and limb.season else 0.0
        base = limb.length - grown
        if not base < foot <= base + max(expected, grown):
            continue
        yield from view.step(
            "turn_up",
            limb.key,
            f"Turn the shoot of {called(view, limb)} up onto its lath, {view.length(foot)} out from where it starts, "
            f"while it is green.",
            at=to(90.0),
        )


def tying_crossings(view: SeasonView, spacing_mm: int) -> Iterator[Step]:
    """Arms of a lattice are tied to their neighbours' where they cross."""
    if view.standing and view.state.stage != "full":
        yield from view.step(
            "tie_crossing",
            "whole",
            f"Tie the arms loosely to those of the neighbours at each crossing, the first {view.length(spacing_mm / 2)} "
            f"to the side of the trunk.",
        )


def centre_leader(view: SeasonView) -> Iterator[Step]:
    """A fan that was sold with a leader in the middle: the leader comes out above the lowest strong pair."""
    if any("centre leader" in text.lower() for _, _, text in view.state.notes) and view.age == 1:
        height = view.walk.plan.trunk_mm
        keep = view.form.number("sold_as_fan_arm_mm")
        yield from view.step(
            "centre_leader_out",
            "leader",
            f"Cut the middle leader out just above the strongest low pair, about {view.length(height)} up; tie the pair at "
            f"45° and cut each arm to {view.length(keep)}, above a bud that looks down.",
            at=at(height),
        )


def wave_name(view: SeasonView, tier: int) -> str:
    """A tier, or a group of ribs, as it is called."""
    kinds = {limb.place.limb.kind for limb in view.limbs if limb.place.limb.tier == tier}
    if kinds <= {"arm"} and not view.has_tiers:
        return "the two arms" if len([limb for limb in view.limbs if limb.place.limb.tier == tier]) > 1 else "the arm"
    if kinds == {"rib"}:
        return f"the {ordinal(tier - 1)} ribs"
    if kinds <= {"rod"}:
        return "the rods"
    if kinds <= {"cane"}:
        return "the canes"
    if kinds <= {"axis"}:
        return _uprights_name(view, tier)
    return f"tier {tier}"


def _uprights_name(view: SeasonView, tier: int) -> str:
    count = len({limb.place.limb.tier for limb in view.limbs if limb.place.limb.kind == "axis"})
    if count == 1:
        return "the uprights"
    return "the outermost uprights" if tier == 1 else f"the {ordinal(tier)} pair of uprights from outside"
