"""Acts on the frame: heading, choosing, slanting, balancing, lowering, shortening."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training.season_view import Part, SeasonView
from gardens.training.state import Step
from gardens.training.walk import Growing
from gardens.training.words import beside_wire, capital, listed, name_of

LEAST_SHORTENING_MM = 30
"""Nobody is sent to take off less than this. [mm]"""
STIFF_DEG = 7


def heading(
    view: SeasonView, *, part: Part = "dormant", shoots: str = "one to go up and one for each side"
) -> Iterator[Step]:
    """The leader's cut: at the next wire if it reaches it, a third of its growth if not."""
    if not view.cut:
        return
    wave, height = view.cut
    if view.reaches:
        yield from _head_at_wire(view, wave, height, part, shoots)
        return
    wire, name = view.wire(wave)
    leader = view.walk.leader
    off = leader.grown * view.practice.short_leader_share
    if off >= LEAST_SHORTENING_MM and view.age > 1:
        yield from view.step(
            "leader_short",
            "leader",
            f"Cut {view.length(off)} off the leader, to {view.length(leader.length - off)} above the ground: "
            f"it is {view.length(wire - leader.length)} short of {name}.",
            part=part,
            at_mm=leader.length - off,
        )
    else:
        yield from view.step(
            "leader_waits",
            "leader",
            f"Leave the leader whole: it stands {view.length(leader.length)} high, {name} is at {view.length(wire)}.",
            part=part,
        )


def _head_at_wire(view: SeasonView, wave: int, height: float, part: Part, shoots: str) -> Iterator[Step]:
    wire, name = view.wire(wave)
    is_last = wave == view.walk.plan.leader_waves[-1][0]
    count = len([limb for limb in view.about_to_start if limb.place.bearer == "leader"]) + (0 if is_last else 1)
    keep = "one for each side and none to go up" if is_last else shoots
    place = beside_wire(height, wire, name, view.units) if view.walk.plan.leader_waves[wave - 1][2] else ""
    where = f"Cut the leader {view.length(height)} above the ground{f', {place}' if place else ''}"
    yield from view.step(
        "head_last" if is_last else "head",
        "leader",
        f"{where}, just above a sound bud; keep {_number(count)} good buds below the cut, {keep}.",
        part=part,
        at_mm=height,
    )


def choosing(view: SeasonView) -> Iterator[Step]:
    """Which of the young shoots stay, and that the rest are rubbed out."""
    for tier, limbs in _by_tier(view.starting):
        waiting = [limb for limb in limbs if limb.status == "wanted"]
        if not waiting:
            continue
        sides = listed([f"one for {name_of(limb.place.limb)}" for limb in waiting])
        up = "one to go straight up, " if view.leader_goes_on and waiting[0].place.bearer == "leader" else ""
        spare = ", and one spare" if view.practice.keep_spare_shoot else ""
        limb_key = f"tier:{tier}"
        yield from view.step("select", limb_key, f"Choose the strongest shoots: {up}{sides}{spare}.")
        yield from view.step(
            "rub_out",
            limb_key,
            f"Rub out every other shoot within {view.length(150)} of {_where(waiting[0])} with the thumb.",
        )


def slanting(view: SeasonView) -> Iterator[Step]:
    """New shoots to slanted canes, the leader to an upright one."""
    for tier, limbs in _by_tier(view.starting):
        waiting = [limb for limb in limbs if limb.status in ("wanted", "chosen")]
        if not waiting:
            continue
        angle = waiting[0].place.first_angle_deg
        what = "the two new shoots" if len(waiting) == 2 else "the new shoot" if len(waiting) == 1 else "the new shoots"
        yield from view.step(
            "tie_slanted",
            f"tier:{tier}",
            f"Tie {what} of {_tier_name(view, tier)} to canes at {angle:.0f}°, loosely, every {view.length(200)}.",
            to_angle_deg=angle,
        )
    if view.leader_goes_on and view.age >= 1 and view.starting:
        yield from view.step(
            "tie_leader",
            "leader",
            f"Tie the leader to an upright cane every {view.length(200)}, not within {view.length(100)} of its tip.",
            to_angle_deg=90.0,
        )


def balancing(view: SeasonView) -> Iterator[Step]:
    """Of two unequal partners the weaker is raised and the stronger lowered."""
    for weak, strong in unequal_pairs(view):
        turn = view.practice.balance_turn_deg
        up = min(85.0, weak.angle + turn)
        down = max(-10.0, strong.angle - turn)
        why = (
            f"it is {view.length(strong.length - weak.length)} behind" if strong.length > weak.length else "it is weak"
        )
        yield from view.step(
            "raise_weak",
            weak.key,
            f"Raise {name_of(weak.place.limb)} to {up:.0f}° and tie it there: {why}.",
            to_angle_deg=up,
        )
        yield from view.step(
            "lower_strong",
            strong.key,
            f"Lower {name_of(strong.place.limb)} to {down:.0f}° until the two are equal.",
            to_angle_deg=down,
        )


def unequal_pairs(view: SeasonView) -> Iterator[tuple[Growing, Growing]]:
    """(weaker, stronger) partners of a tier that differ by more than the business bears."""
    for _, limbs in _by_tier(limb for limb in view.limbs if limb.season and limb.status != "lost"):
        sides = {limb.place.limb.side: limb for limb in limbs if limb.place.limb.kind in ("arm", "rod", "axis")}
        if set(sides) != {-1, 1} or len(limbs) != 2:
            continue
        weak, strong = sorted(sides.values(), key=lambda limb: limb.length / max(1, limb.wanted))
        if weak.length >= weak.wanted * view.practice.full_share:
            continue
        share = (weak.length / max(1, weak.wanted)) / max(1e-9, strong.length / max(1, strong.wanted))
        if strong.is_weak and not weak.is_weak and share > view.practice.balance_trigger:
            weak, strong = strong, weak
        if share < view.practice.balance_trigger or weak.is_weak:
            yield weak, strong


def lowering(view: SeasonView) -> Iterator[Step]:
    """After growth, slanted shoots come down to their place; stiff ones in two steps."""
    late = [limb for limb in view.standing if limb.status in ("chosen", "tied")]
    for tier, limbs in _by_tier(late):
        final = limbs[0].final_angle
        yield from view.step(
            "lower_stiff",
            f"tier:{tier}",
            f"Bring {_tier_name(view, tier)} down to {final:.0f}° in two stages and tie it flat before the buds swell.",
            part="dormant",
            to_angle_deg=final,
        )
    for tier, limbs in _by_tier(limb for limb in view.starting if limb.status != "set"):
        final = limbs[0].final_angle
        if abs(limbs[0].place.first_angle_deg - final) <= STIFF_DEG:
            continue
        target = "along the wire" if abs(final) < 1 else f"to {final:.0f}°"
        yield from view.step(
            "lower",
            f"tier:{tier}",
            f"Untie the canes of {_tier_name(view, tier)} and lay the shoots {target}; stop where one resists.",
            to_angle_deg=final,
        )


def shortening(view: SeasonView, *, part: Part = "dormant") -> Iterator[Step]:
    """How much of last season's growth comes off each arm, and what grows beyond its place."""
    for limb in view.standing:
        if (view.year, limb.key) in view.walk.shortened or limb.key == view.walk.plan.stem:
            continue
        if limb.length > limb.wanted:
            yield from view.step(
                "end_of_run",
                limb.key,
                f"Cut {name_of(limb.place.limb)} back to {view.length(limb.wanted)} from its start, where its place ends.",
                part=part,
                at_mm=limb.wanted,
            )
            continue
        off = view.walk.winter_cut(limb, view.year)
        if off < LEAST_SHORTENING_MM or not view.before_growth:
            continue
        rule = "shorten_by_angle" if view.practice.arm_winter_cut == "by_angle" else "shorten_weak"
        yield from view.step(
            rule,
            limb.key,
            f"Cut {view.length(off)} off {name_of(limb.place.limb)}, to {view.length(limb.length - off)} from its start, "
            f"above a bud that looks down.",
            part=part,
            at_mm=limb.length - off,
        )


def _by_tier(limbs: object) -> list[tuple[int, list[Growing]]]:
    tiers: dict[int, list[Growing]] = {}
    for limb in limbs:  # type: ignore[attr-defined]
        tiers.setdefault(limb.place.limb.tier, []).append(limb)
    return sorted(tiers.items())


def _tier_name(view: SeasonView, tier: int) -> str:
    kinds = {limb.place.limb.kind for limb in view.limbs if limb.place.limb.tier == tier}
    if kinds == {"rib"}:
        return f"rib group {tier - 1}"
    return f"tier {tier}" if view.walk.plan.tiers > 1 else "the pair"


def _where(limb: Growing) -> str:
    return "the cut" if limb.place.bearer == "leader" else name_of(limb.place.limb)


def _number(count: int) -> str:
    return ("no", "one", "two", "three", "four", "five", "six")[count] if count <= 6 else str(count)


def sentence(text: str) -> str:
    """A text as a sentence."""
    return capital(text)
