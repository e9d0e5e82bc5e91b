"""Acts on a vine: rooting, the trunk, and the yearly cut of spurs and canes."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import frame_acts, site_acts
from gardens.training.leader_work import TWO_BUDS_MM
from gardens.training.season_view import SeasonView, at
from gardens.training.state import Step


def vine_year(view: SeasonView) -> Iterator[Step]:
    """Plant and root, raise the trunk, then cut spurs or canes every winter."""
    yield from site_acts.planting(view)
    if view.walk.goes_to_two_buds(view.year) and view.before_growth:
        key = view.walk.plan.stem or "leader"
        yield from view.step(
            "vine_two_buds", key, "Cut the vine back to two buds above the ground.", at=at(TWO_BUDS_MM)
        )
    elif view.cut and view.reaches:
        yield from _trunk(view)
    elif view.cut and not view.walk.is_rooting(view.year):
        yield from frame_acts.heading(view)
    if view.walk.plan.stem:
        yield from _upright_rod(view)
    if view.cut and not view.reaches:
        yield from _raise_trunk(view)
    grown_in = 3 if view.walk.plan.stem else 1
    if any(limb.is_alive and view.year - limb.season >= grown_in for limb in view.limbs):
        yield from _winter_cut(view)


def _trunk(view: SeasonView) -> Iterator[Step]:
    wave, height = view.cut or (0, 0.0)
    wire, _ = view.wire(wave)
    thick = view.practice.vine_cane_min_mm
    yield from view.step(
        "vine_trunk",
        "leader",
        f"Cut the cane {view.length(height)} above the ground, just under the wire at {view.length(wire)}; where it is "
        f"thinner than {thick} mm there, cut where it is {thick} mm thick.",
        at=at(height),
    )


def _raise_trunk(view: SeasonView) -> Iterator[Step]:
    every, free = view.length(view.form.number("tie_every_mm")), view.length(view.form.number("free_tip_mm"))
    yield from view.step(
        "vine_shoot_up",
        "leader",
        f"Tie the strongest shoot upright every {every}, nothing within {free} of its tip, and break off its side shoots.",
    )


def _upright_rod(view: SeasonView) -> Iterator[Step]:
    rod = view.walk.leader
    if view.age < 3 or rod.length >= rod.wanted * view.practice.full_share:
        return
    most = view.form.number("upright_gain_mm")
    if view.before_growth:
        kept = rod.length - max(0.0, rod.grown - most)
        yield from view.step(
            "vine_rod_cut",
            rod.key,
            f"Cut the rod to ripe wood, {view.length(kept)} above the ground; at most {view.length(most)} of new wood stays.",
            at=at(kept),
        )
    first, gap = (view.length(view.form.number(f"upright_{key}_mm")) for key in ("first_spur", "spur_spacing"))
    yield from view.step(
        "vine_rod_extend",
        rod.key,
        f"Keep one shoot at the top to go on and a pair for spurs every {gap} below it, the lowest {first} above the ground.",
    )


def _winter_cut(view: SeasonView) -> Iterator[Step]:
    if view.form.id == "vine_cane_replacement":
        yield from _renew_canes(view)
    elif view.form.id == "vine_tiers":
        yield from _four_arms(view)
    else:
        buds = int(view.form.number("spur_buds"))
        upright = "upright_" if view.walk.plan.stem else ""
        gap = view.length(view.form.number(f"{upright}spur_spacing_mm"))
        yield from view.step(
            "vine_spurs",
            "whole",
            f"Cut every shoot on the rod to {buds} buds, one spur every {gap}; keep the lower of two.",
        )


def _renew_canes(view: SeasonView) -> Iterator[Step]:
    buds, spur = int(view.form.number("cane_buds")), int(view.form.number("spur_buds"))
    below = view.length(view.form.number("head_below_wire_mm"))
    canes = [limb for limb in view.limbs if limb.place.limb.kind == "cane" and limb.status != "lost"]
    if len(canes) == 1:
        text = f"Lay one cane of {buds} buds along the wire and cut a second to {spur} buds"
    else:
        text = f"Lay one cane of {buds} buds to each side and cut one shoot on each side to {spur} buds"
    yield from view.step(
        "vine_canes", "whole", f"{text}, all from about {below} below the wire; cut off the cane that fruited."
    )
    yield from view.step(
        "vine_summer",
        "whole",
        "Top the upright shoots three leaves above the upper bunch; leave the two replacement shoots long.",
    )
    if min(limb.season for limb in canes if limb.season) == view.year - 1:
        bunches = int(view.form.number("first_crop_bunches"))
        yield from view.step(
            "vine_first_crop", "whole", f"Leave at most {bunches} bunches on the vine and cut the others off."
        )


def _four_arms(view: SeasonView) -> Iterator[Step]:
    strong = view.walk.leader_ended and _trunk_was_quick(view)
    buds = int(view.form.number("canes_buds_strong" if strong else "canes_buds_weak"))
    more = int(view.form.number("upper_cane_more_buds"))
    yield from view.step(
        "vine_four_arms",
        "whole",
        f"Keep a cane and a two-bud spur on each side below each wire; leave {buds} buds on the canes in all, the upper ones "
        f"{more} buds longer.",
    )


def _trunk_was_quick(view: SeasonView) -> bool:
    """Whether the trunk reached the top wire in the third year."""
    top = max((limb.season for limb in view.limbs if limb.is_alive), default=0)
    return top <= view.walk.first_season + 3
