"""Acts on a cordon: planting at its angle, short side shoots, the stem's way to the top."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import site_acts
from gardens.training.season_view import SeasonView, at, to
from gardens.training.side_wood import planting_cut
from gardens.training.state import Step
from gardens.training.words import at_angle

WEAK_SHARE = 0.6
"""A stem that grew less than this share of what was expected is shortened to wake its buds (own default)."""


def cordon_year(view: SeasonView) -> Iterator[Step]:
    """Plant, spur, extend, stop."""
    yield from site_acts.planting(view)
    stem = view.walk.leader
    angle = view.form.number("stem_angle_deg")
    if view.age == 1:
        yield from _first_year(view, angle)
    height = view.walk.stem_cut(view.year)
    if height is not None:
        yield from view.step(
            "cordon_low_cut",
            stem.key,
            f"Cut the stem {view.length(height)} above the ground, above a sound bud, so that fruit spurs form low down.",
            at=at(height),
        )
    elif view.age > 1:
        yield from _weak_stem(view)
    if stem.length >= stem.wanted * view.practice.full_share:
        yield from _at_the_top(view)
    elif view.age > 1:
        yield from view.step(
            "tie_stem", stem.key, f"Tie the stem to its cane {at_angle(stem.angle)} as it grows.", at=to(stem.angle)
        )


def _first_year(view: SeasonView, angle: float) -> Iterator[Step]:
    cane = view.length(view.form.number("cane_mm"))
    longest = view.form.number("lateral_keep_below_mm")
    if angle < 90:
        side = "left" if view.walk.leader.place.limb.side < 0 else "right"
        yield from view.step(
            "plant_slanted",
            "whole",
            f"Plant the tree at {angle:.0f}° leaning to the {side}, the graft above the soil with the grown wood on the "
            f"upper side.",
            at=to(angle),
        )
    yield from view.step(
        "tie_stem",
        view.walk.leader.key,
        f"Tie the stem to a cane of {cane}, fixed {at_angle(angle)} to the wires.",
        at=to(angle),
        part="dormant",
    )
    buds = planting_cut(longest + 1, view.form)
    yield from view.step(
        "cordon_laterals",
        "whole",
        f"Cut side shoots longer than {view.length(longest)} to {buds} buds; leave shorter ones and the leader whole.",
    )


def _weak_stem(view: SeasonView) -> Iterator[Step]:
    stem = view.walk.leader
    if not view.before_growth or stem.length >= stem.wanted * view.practice.full_share:
        return
    if 0 < stem.grown < WEAK_SHARE * view.walk.expected(stem, view.year - 1):
        off = stem.grown * view.form.number("weak_leader_share")
        yield from view.step(
            "cordon_weak",
            stem.key,
            f"Cut {view.length(off)} off the tip of the stem: it grew only {view.length(stem.grown)}.",
            at=at(stem.length - off),
        )


def _at_the_top(view: SeasonView) -> Iterator[Step]:
    stem, least = view.walk.leader, view.form.number("least_angle_deg")
    lower = stem.angle - view.form.number("lowering_step_deg")
    if view.practice.stem_at_top == "lower" and stem.angle < 90 and lower >= least:
        yield from view.step(
            "cordon_lower",
            stem.key,
            f"Lower the stem with its cane from {stem.angle:.0f}° to {lower:.0f}°.",
            at=to(lower),
        )
        return
    yield from view.step(
        "cordon_top",
        stem.key,
        f"Cut the tip of the stem at {view.length(stem.wanted)} from the ground along it, where the support ends.",
        at=at(stem.wanted),
    )
