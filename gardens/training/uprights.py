"""Upright axes on flat feet: U, double U and candelabra palmettes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, frame_acts
from gardens.training.places import Place, Spot, length_of
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView

STONE_WIDE = ("peach", "nectarine", "apricot", "plum_european", "plum_japanese", "cherry_sweet", "cherry_sour")
MOST_AXES, FEWEST_AXES = 8, 2


class Uprights:
    """Axes that first run flat to their line, then straight up to the top of the support."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """The axes, counted from the left; those of the lowest tier stand outermost."""
        if form.id == "double_u":
            return _double_u(facts, form)
        xs = axis_positions(facts, form)
        feet = _feet(facts, form, len(xs) // 2)
        share = form.number("axis_cut_share")
        places = []
        for number, x in enumerate(xs, start=1):
            from_outside = min(number, len(xs) + 1 - number)
            tier = min(from_outside, len(feet))
            foot = feet[tier - 1]
            side = (x > 0) - (x < 0)
            points = ((0, foot), (x, foot), (x, facts.height_mm)) if x else ((0, foot), (0, facts.height_mm))
            places.append(
                Place(
                    limb=_bent((f"axis:{number}", "axis", tier), points, side),
                    bearer="leader",
                    cut_mm=foot,
                    along_mm=foot,
                    wave=tier,
                    first_angle_deg=form.number("first_angle_deg") if x else 90.0,
                    winter_share=share,
                )
            )
        return tuple(sorted(places, key=lambda place: place.wave))

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Head, spread the shoots, turn each up at its line, keep all tips level."""
        yield from acts.usual_year(view)
        yield from frame_acts.turning_up(view)


def axis_spacing(facts: TreeFacts, form: FormRecord) -> float:
    """From axis to axis: narrow for pome fruit, wide for peaches and their kin. [mm]"""
    return form.number("axis_spacing_stone_mm" if facts.species in STONE_WIDE else "axis_spacing_mm")


def axis_positions(facts: TreeFacts, form: FormRecord) -> tuple[int, ...]:
    """Where the axes stand, from the left: ±a/2, ±3a/2 … for an even number, 0, ±a … for an odd one. [mm]

    A support that is too narrow brings them closer together.
    """
    spacing, room = axis_spacing(facts, form), min(facts.run_left_mm, facts.run_right_mm)
    fixed = {"u_form": 2, "double_u": 4}.get(form.id)
    count = fixed or max(FEWEST_AXES, facts.axes or 2 * facts.tiers or _that_fit(room, spacing))
    half = (count - 1) / 2
    spacing = min(spacing, room / half) if half else spacing
    return tuple(int((index - half) * spacing) for index in range(count))


def _that_fit(room: float, spacing: float) -> int:
    """The largest even number of axes whose outermost still has room; even forms are the steadier ones."""
    pairs = int(room / spacing + 0.5)
    return max(FEWEST_AXES, min(MOST_AXES, 2 * pairs))


def _feet(facts: TreeFacts, form: FormRecord, tiers: int) -> tuple[int, ...]:
    """The heights of the flat feet, lowest first, within the lower part of the support. [mm]"""
    first = min(int(form.number("fork_mm")), facts.height_mm // 4)
    if form.id == "candelabra_palmette" and facts.wire_heights_mm and facts.wire_heights_mm[0] <= facts.height_mm // 3:
        first = facts.wire_heights_mm[0]
    step = form.number("tier_spacing_mm") if form.has("tier_spacing_mm") else 0
    step = min(step, (facts.height_mm * 0.6 - first) / max(1, tiers - 1))
    return tuple(int(first + index * step) for index in range(tiers))


def _double_u(facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
    xs = axis_positions(facts, form)
    low = min(int(form.number("fork_mm")), facts.height_mm // 4)
    high = low + min(int(form.number("second_fork_above_mm")), facts.height_mm // 4)
    angle, share = form.number("first_angle_deg"), form.number("axis_cut_share")
    places = []
    for side, name, inner, outer in ((-1, "left", xs[1], xs[0]), (1, "right", xs[2], xs[3])):
        x = (inner + outer) // 2
        fork = _bent((f"arm:1:{name}", "arm", 1), ((0, low), (x, low), (x, high)), side)
        places.append(Place(limb=fork, bearer="leader", cut_mm=low, along_mm=low, wave=1, first_angle_deg=angle))
        for key, to in ((1 if side < 0 else 4, outer), (2 if side < 0 else 3, inner)):
            toward = 1 if to > x else -1
            way = ((x, high), (to, high), (to, facts.height_mm))
            axis = _bent((f"axis:{key}", "axis", 2), way, toward)
            places.append(
                Place(
                    limb=replace(axis, parent=fork.key),
                    bearer=fork.key,
                    cut_mm=int(fork.wanted_mm * 0.95),
                    along_mm=fork.wanted_mm,
                    wave=2,
                    first_angle_deg=angle,
                    winter_share=share,
                )
            )
    return tuple(sorted(places, key=lambda place: (place.wave, place.limb.key)))


def _bent(what: tuple[str, Literal["arm", "axis"], int], points: tuple[Spot, ...], side: int) -> Limb:
    """A limb that runs flat along the support first, then up; ``what`` is its key, kind and tier."""
    key, kind, tier = what
    return Limb(
        key=key,
        kind=kind,
        tier=tier,
        side=side,
        wanted_mm=length_of(points),
        angle_deg=90.0,
        origin_x_mm=points[0][0],
        origin_y_mm=points[0][1],
        course_mm=points,
    )
