"""Acts on young shoots: choosing, slanting, balancing, lowering."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gardens.training.frame_acts import called, wave_name
from gardens.training.growing import Growing
from gardens.training.places import SLANTED_DEG
from gardens.training.season_view import SeasonView, to
from gardens.training.state import Step
from gardens.training.words import at_angle, listed, number_word

TIE_EVERY_MM, FREE_TIP_MM = 200, 100
STEEPEST_DEG, LOWEST_DEG = 85.0, -10.0


def choosing(view: SeasonView) -> Iterator[Step]:
    """Which of the young shoots stay, and that the rest are rubbed out."""
    for tier, limbs in by_tier(view.starting):
        waiting = [limb for limb in limbs if limb.status == "wanted" and not limb.place.bends_leader]
        if not waiting:
            continue
        if waiting[0].place.bearer == "leader":
            yield from _choose_on_leader(view, tier, waiting)
        else:
            yield from _choose_on_limbs(view, tier, waiting)


def _choose_on_leader(view: SeasonView, tier: int, limbs: list[Growing]) -> Iterator[Step]:
    up = ["one straight up"] if view.leader_goes_on else []
    chosen = up + [_to_the_side(limb) for limb in limbs]
    spare = ", and one spare" if view.practice.keep_spare_shoot else ""
    yield from view.step(
        "select",
        f"tier:{tier}",
        f"Keep {number_word(len(chosen))} strong shoot{'s' if len(chosen) > 1 else ''} below the cut: {listed(chosen)}{spare}.",
    )
    yield from view.step(
        "rub_out", f"tier:{tier}", f"Rub out the other shoots within {view.length(150)} below the cut."
    )


def _to_the_side(limb: Growing) -> str:
    side = limb.place.limb.side
    return "one upward" if side == 0 else f"one to the {'left' if side < 0 else 'right'}"


def _choose_on_limbs(view: SeasonView, tier: int, limbs: list[Growing]) -> Iterator[Step]:
    bearers: dict[str, list[Growing]] = {}
    for limb in limbs:
        bearers.setdefault(limb.place.bearer, []).append(limb)
    for key, shoots in bearers.items():
        bearer = called(view, view.walk.limbs[key])
        count = f"{number_word(len(shoots))} shoot{'s' if len(shoots) > 1 else ''}"
        spots = listed([f"one {_spot(view, shoot)}" for shoot in shoots])
        yield from view.step("select", key, f"Keep {count} on {bearer}: {spots}.")
    yield from view.step("rub_out", f"tier:{tier}", "Pinch the other shoots on the arms to one leaf.")


def _spot(view: SeasonView, shoot: Growing) -> str:
    bearer = view.walk.limbs[shoot.place.bearer]
    if shoot.place.limb.kind != "rib":
        return f"to the {'left' if shoot.place.limb.side < 0 else 'right'}"
    above = shoot.place.limb.angle_deg > bearer.place.limb.angle_deg
    return f"{'above' if above else 'below'} it, {view.length(shoot.place.along_mm)} out"


def slanting(view: SeasonView) -> Iterator[Step]:
    """New shoots to slanted canes, the leader to an upright one."""
    for tier, limbs in by_tier(view.starting):
        waiting = [limb for limb in limbs if limb.status in ("wanted", "chosen") and not limb.place.bends_leader]
        if tier == 1 and view.age == 1 and view.facts.start == "feathered" and waiting and waiting[0].season:
            continue  # feathers were tied when they were taken
        if waiting and waiting[0].place.limb.kind == "rib":
            yield from _tie_ribs(view, waiting)
        elif waiting:
            angle = waiting[0].place.first_angle_deg
            plural = "s" if len(waiting) > 1 else ""
            vine = view.form.family == "vines"
            canes = "" if vine else f" to cane{plural}"
            yield from view.step(
                "tie_slanted",
                f"tier:{tier}",
                f"Tie the new shoot{plural} of {wave_name(view, tier)}{canes} {at_angle(angle)}, loosely, every "
                f"{view.length(TIE_EVERY_MM)}.",
                at=to(angle),
            )
    if view.leader_goes_on and view.starting:
        yield from view.step(
            "tie_leader",
            "leader",
            f"Tie the leader to an upright cane every {view.length(TIE_EVERY_MM)}, not within {view.length(FREE_TIP_MM)} of "
            f"its tip.",
            at=to(90.0),
        )


def _tie_ribs(view: SeasonView, ribs: list[Growing]) -> Iterator[Step]:
    for rib in ribs:
        yield from view.step(
            "tie_limb",
            rib.key,
            f"Tie {called(view, rib)} to a cane {at_angle(rib.final_angle)}, loosely, every {view.length(TIE_EVERY_MM)}.",
            at=to(rib.final_angle),
        )


def balancing(view: SeasonView) -> Iterator[Step]:
    """Of two unequal partners the weaker is raised and the stronger lowered."""
    for weak, strong in unequal_pairs(view):
        turn = view.practice.balance_turn_deg
        up, down = min(STEEPEST_DEG, weak.angle + turn), max(LOWEST_DEG, strong.angle - turn)
        behind = strong.length - weak.length
        why = f"it is {view.length(behind)} behind" if behind > 0 else "it is weak"
        yield from view.step(
            "raise_weak", weak.key, f"Raise {called(view, weak)} to {up:.0f}° and tie it there: {why}.", at=to(up)
        )
        yield from view.step(
            "lower_strong",
            strong.key,
            f"Lower {called(view, strong)} to {down:.0f}° until the two are equal.",
            at=to(down),
        )


def unequal_pairs(view: SeasonView) -> Iterator[tuple[Growing, Growing]]:
    """(weaker, stronger) partners of a tier that differ by more than the business bears."""
    alive = [limb for limb in view.limbs if limb.is_alive and limb.place.limb.kind != "rib"]
    for _, limbs in by_tier(alive):
        if len(limbs) != 2 or {limb.place.limb.side for limb in limbs} != {-1, 1}:
            continue
        weak, strong = sorted(limbs, key=lambda limb: limb.length)
        if strong.is_weak and not weak.is_weak:
            weak, strong = strong, weak
        if weak.length >= weak.wanted * view.practice.full_share or not strong.length:
            continue
        if weak.is_weak or weak.length / strong.length < view.practice.balance_trigger:
            yield weak, strong


def lowering(view: SeasonView) -> Iterator[Step]:
    """After growth, slanted shoots come down to their place; stiff ones in stages."""
    for limb in view.standing:
        if limb.status in ("chosen", "tied") and limb.angle - limb.final_angle > SLANTED_DEG:
            yield from _lower_in_stages(view, limb)
    for tier, limbs in by_tier(limb for limb in view.starting if limb.status != "set" and not limb.place.bends_leader):
        first, final = limbs[0].place.first_angle_deg, limbs[0].final_angle
        kind = limbs[0].place.limb.kind
        if abs(first - final) <= SLANTED_DEG or kind in ("axis", "cane"):
            continue
        name = wave_name(view, tier)
        if limbs[0].place.limb.course_mm:
            continue
        if final > first:
            text = f"Raise {name} to {final:.0f}° once both sides are equally long."
            yield from view.step("raise_to_place", f"tier:{tier}", text, at=to(final))
            continue
        canes = "" if view.form.family == "vines" else " from the canes"
        yield from view.step(
            "lower",
            f"tier:{tier}",
            f"Untie {name}{canes} and bring the shoots {_down_to(final)}; stop where one resists.",
            at=to(final),
        )


def _down_to(angle_deg: float) -> str:
    return "flat along the wire" if abs(angle_deg) < 1 else f"down to {angle_deg:.0f}°"


def _lower_in_stages(view: SeasonView, limb: Growing) -> Iterator[Step]:
    half = round((limb.angle + limb.final_angle) / 2)
    yield from view.step(
        "lower_stiff",
        limb.key,
        f"Lower {called(view, limb)} from {limb.angle:.0f}° to {half}° and tie it there.",
        part="summer",
        at=to(half),
    )
    yield from view.step(
        "lower_stiff",
        limb.key,
        f"Tie {called(view, limb)} down to {limb.final_angle:.0f}°.",
        part="autumn",
        at=to(limb.final_angle),
    )


def by_tier(limbs: Iterable[Growing]) -> list[tuple[int, list[Growing]]]:
    """Limbs by their tier, lowest first."""
    tiers: dict[int, list[Growing]] = {}
    for limb in limbs:
        tiers.setdefault(limb.place.limb.tier, []).append(limb)
    return sorted(tiers.items())
