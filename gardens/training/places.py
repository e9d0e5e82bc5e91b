"""The places a form gives its limbs: where each starts, how it runs, how long it may get, what must stand before it.

All lengths in mm, angles in degrees above the horizontal. x counts from the trunk, negative to the left as seen from
the front of the support, y from the ground.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from gardens.knowledge.form_schema import FormRecord
from gardens.training.state import Limb, TreeFacts

Point = tuple[float, float]
Kind = Literal["trunk", "leader", "arm", "rib", "axis", "rod", "cane"]
LEFT, RIGHT = -1, 1
SIDES = ((LEFT, "left"), (RIGHT, "right"))
LEAST_ARM_MM = 200
"""A run shorter than this carries no arm."""


@dataclass(frozen=True, kw_only=True)
class Place:
    """The place of one limb and what must stand before its shoot can be raised.

    ``bearer`` is "leader", the key of the limb it springs from, or "planting" for a stem that is there from the start.
    ``cut_mm`` is where the bearer is cut for it: a height above ground on the leader, a distance along any other limb.
    ``takes_margin`` says that the business's heading margin shifts that cut. ``wave`` counts the cuts from the ground
    or the trunk outward; limbs of one wave on one bearer arise together.
    """

    limb: Limb
    bearer: str
    cut_mm: int
    wave: int
    first_angle_deg: float
    takes_margin: bool = False


@dataclass(frozen=True)
class Plan:
    """All places of a tree, in the order they are formed, with the questions the walk through the years asks.

    ``stem`` is the key of the limb that is the tree's own stem (a cordon's leader, an upright rod), "" otherwise.
    ``leader_waves`` are the cuts of the leader: (wave, height of the cut without margin, takes margin).
    """

    places: tuple[Place, ...]
    stem: str
    leader_waves: tuple[tuple[int, int, bool], ...]

    @property
    def tiers(self) -> int:
        """How many tiers there are, counted by the limbs' own tier numbers."""
        return max((place.limb.tier for place in self.places), default=0)


def straight(
    key: str,
    kind: Kind,
    origin: tuple[int, int],
    side: int,
    angle: float,
    wanted: float,
    *,
    tier: int = 0,
    parent: str = "trunk",
) -> Limb:
    """A wanted limb that runs straight."""
    return Limb(
        key=key,
        kind=kind,
        tier=tier,
        side=side,
        wanted_mm=max(0, int(wanted)),
        angle_deg=angle,
        origin_x_mm=origin[0],
        origin_y_mm=origin[1],
        parent=parent,
    )


def bent(
    key: str, kind: Kind, points: tuple[tuple[int, int], ...], *, side: int, tier: int, parent: str = "trunk"
) -> Limb:
    """A wanted limb that follows a course of points, first along the support, then up."""
    length = sum(math.dist(a, b) for a, b in zip(points, points[1:], strict=False))
    return replace(straight(key, kind, points[0], side, 90.0, length, tier=tier, parent=parent), course_mm=points)


def direction(side: int, angle_deg: float) -> Point:
    """The unit vector of a limb: sideways by its side, upward by its angle."""
    radians = math.radians(angle_deg)
    return (math.cos(radians) * (side if side else 1) if side or angle_deg != 90 else 0.0, math.sin(radians))


def room_along(facts: TreeFacts, origin: tuple[int, int], side: int, angle_deg: float) -> float:
    """How far a straight limb can run from ``origin`` before it leaves the support. [mm]"""
    dx, dy = direction(side, angle_deg)
    sideways = facts.run_right_mm - origin[0] if dx > 0 else facts.run_left_mm + origin[0]
    limits = [math.inf]
    if abs(dx) > 1e-9:
        limits.append(sideways / abs(dx))
    if dy > 1e-9:
        limits.append((facts.height_mm - origin[1]) / dy)
    elif dy < -1e-9:
        limits.append(origin[1] / -dy)
    return max(0.0, min(limits))


def course(limb: Limb, length_mm: float | None = None) -> tuple[Point, ...]:
    """The way of a limb as it stands, as points from its origin on; with ``length_mm`` cut or carried to that length.

    A limb in its slanted first seasons runs at its present angle; a bent limb follows its planned course.
    """
    length = limb.length_mm if length_mm is None else length_mm
    start = (float(limb.origin_x_mm), float(limb.origin_y_mm))
    if not limb.course_mm:
        dx, dy = direction(limb.side, limb.angle_deg)
        return (start, (start[0] + dx * length, start[1] + dy * length))
    points: list[Point] = [start]
    left = float(length)
    for a, b in zip(limb.course_mm, limb.course_mm[1:], strict=False):
        span = math.dist(a, b)
        if left <= span:
            share = left / span if span else 0.0
            points.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
            return tuple(points)
        points.append((float(b[0]), float(b[1])))
        left -= span
    return tuple(points)


def wanted_course(limb: Limb) -> tuple[Point, ...]:
    """The way of a limb in its final place at its wanted length."""
    final = limb.angle_deg if limb.wanted_angle_deg is None else limb.wanted_angle_deg
    return course(replace(limb, angle_deg=final), limb.wanted_mm)


def wires_of(facts: TreeFacts, form: FormRecord, count: int) -> tuple[int, ...]:
    """The heights of the tiers: the support's own wires, else the form's usual ones, within the support's height."""
    wires = list(facts.wire_heights_mm)
    first, step = (
        int(form.number("first_wire_mm")),
        int(form.numbers["wire_spacing_mm"].value) if form.has("wire_spacing_mm") else 400,
    )
    if not wires:
        wires = [first]
    while len(wires) < count:
        gap = wires[-1] - wires[-2] if len(wires) > 1 else step
        wires.append(wires[-1] + gap)
    return tuple(wire for wire in wires[:count] if wire <= facts.height_mm)


def tier_count(facts: TreeFacts, form: FormRecord) -> int:
    """How many tiers the tree is to have: as decided, else one to each wire, else what is usual for the form."""
    return facts.tiers or len(facts.wire_heights_mm) or int(form.number("usual_tiers"))


def longer_side(facts: TreeFacts) -> int:
    """The side a slanted stem leans to: as decided, else the one with more room, right if equal."""
    if facts.lean:
        return LEFT if facts.lean == "left" else RIGHT
    return LEFT if facts.run_left_mm > facts.run_right_mm else RIGHT


def run_of(facts: TreeFacts, side: int) -> int:
    """The room along the support on one side. [mm]"""
    return facts.run_left_mm if side == LEFT else facts.run_right_mm
