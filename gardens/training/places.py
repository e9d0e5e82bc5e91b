"""The places a form gives its limbs: where each starts, how it runs, how long it may get, what must stand before it.

All lengths in mm, angles in degrees above the horizontal. x counts from the trunk, negative to the left as seen from
the front of the support, y from the ground.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from gardens.knowledge.form_schema import FormRecord
from gardens.training.state import Limb, TreeFacts

Point = tuple[float, float]
Spot = tuple[int, int]
LEFT, RIGHT = -1, 1
SIDES = ((LEFT, "left"), (RIGHT, "right"))
LEAST_ARM_MM = 200
"""A run shorter than this carries no arm."""
SLANTED_DEG = 7.0
"""A limb further than this from its final angle is still on its slant."""
USUAL_GAP_MM = 400


@dataclass(frozen=True, kw_only=True)
class Place:
    """The place of one limb and what must stand before its shoot can be raised.

    ``bearer`` is "leader", the key of the limb it springs from, or "planting" for a stem that is there from the start.
    ``cut_mm`` is how long the bearer must be for it, and where the leader is cut: a height above ground on the leader,
    a distance along any other limb. ``along_mm`` is where on its bearer it springs. ``takes_margin`` says that the
    business's heading margin shifts the cut. ``wave`` counts the cuts from the ground or the trunk outward; limbs of
    one wave on one bearer arise together. ``winter_share`` is the share of its new growth that the form takes off
    every winter, None where the business decides. ``bends_leader`` marks a limb that is the bent leader itself.
    """

    limb: Limb
    bearer: str
    cut_mm: int
    wave: int
    first_angle_deg: float
    along_mm: int = 0
    takes_margin: bool = False
    winter_share: float | None = None
    bends_leader: bool = False


@dataclass(frozen=True)
class Plan:
    """All places of a tree, in the order they are formed, with the questions the walk through the years asks.

    ``stem`` is the key of the limb that is the tree's own stem (a cordon's leader, an upright rod), "" otherwise.
    ``leader_cuts`` are the cuts of the leader: (wave, height without margin, takes margin).
    """

    places: tuple[Place, ...]
    stem: str
    leader_cuts: tuple[tuple[int, int, bool], ...]

    @property
    def tiers(self) -> int:
        """How many tiers there are, counted by the limbs' own tier numbers."""
        return max((place.limb.tier for place in self.places), default=0)

    @cached_property
    def bearing_limbs(self) -> frozenset[str]:
        """The keys of the limbs that others spring from."""
        return frozenset(place.bearer for place in self.places) - {"leader", "planting"}

    @cached_property
    def on_leader(self) -> dict[int, tuple[str, ...]]:
        """The keys of the limbs that spring from the leader, by the wave of their cut."""
        waves: dict[int, list[str]] = {}
        for place in self.places:
            if place.bearer == "leader":
                waves.setdefault(place.wave, []).append(place.limb.key)
        return {wave: tuple(keys) for wave, keys in waves.items()}

    @property
    def trunk_mm(self) -> int:
        """The height of the finished trunk, 0 for a form that is all stem."""
        return max((height for _, height, _ in self.leader_cuts), default=0)


def length_of(points: Sequence[Spot]) -> int:
    """The length of a course of points. [mm]"""
    return int(sum(math.dist(a, b) for a, b in pairwise(points)))


def direction(side: int, angle_deg: float) -> Point:
    """The unit vector of a limb: sideways by its side, upward by its angle."""
    radians = math.radians(angle_deg)
    return (side * math.cos(radians), math.sin(radians))


def room_along(facts: TreeFacts, origin: Spot, side: int, angle_deg: float) -> float:
    """How far a straight limb can run from ``origin`` before it leaves the support. [mm]"""
    dx, dy = direction(side, angle_deg)
    limits = [math.inf]
    if abs(dx) > 1e-9:
        limits.append((facts.run_right_mm - origin[0] if dx > 0 else facts.run_left_mm + origin[0]) / abs(dx))
    if abs(dy) > 1e-9:
        limits.append((facts.height_mm - origin[1]) / dy if dy > 0 else origin[1] / -dy)
    return max(0.0, min(limits))


def course(limb: Limb, length_mm: float | None = None) -> tuple[Point, ...]:
    """The way of a limb as it stands, as points from its origin on; with ``length_mm`` cut or carried to that length.

    A limb on its slant runs straight at its present angle; a bent limb in its place follows its planned course.
    """
    length = float(limb.length_mm if length_mm is None else length_mm)
    start = (float(limb.origin_x_mm), float(limb.origin_y_mm))
    on_slant = limb.wanted_angle_deg is not None and abs(limb.wanted_angle_deg - limb.angle_deg) > SLANTED_DEG
    if not limb.course_mm or on_slant:
        dx, dy = direction(limb.side, limb.angle_deg)
        return (start, (start[0] + dx * length, start[1] + dy * length))
    return _along(limb.course_mm, length)


def wanted_course(limb: Limb) -> tuple[Point, ...]:
    """The way of a limb in its final place at its wanted length."""
    final = limb.angle_deg if limb.wanted_angle_deg is None else limb.wanted_angle_deg
    return course(replace(limb, angle_deg=final, wanted_angle_deg=None), limb.wanted_mm)


def _along(points: Sequence[Spot], length: float) -> tuple[Point, ...]:
    way: list[Point] = [(float(points[0][0]), float(points[0][1]))]
    left = length
    for a, b in pairwise(points):
        span = math.dist(a, b)
        share = 1.0 if left >= span else left / span
        way.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
        left -= span
        if left <= 0:
            break
    return tuple(way)


def wires_of(facts: TreeFacts, form: FormRecord, count: int) -> tuple[int, ...]:
    """The heights of the tiers: the support's own wires, then the form's usual spacing, within the support's height."""
    wires = list(facts.wire_heights_mm) or [int(form.number("first_wire_mm"))]
    usual = int(form.number("wire_spacing_mm")) if form.has("wire_spacing_mm") else USUAL_GAP_MM
    gap = wires[-1] - wires[-2] if len(wires) > 1 else usual
    while len(wires) < count:
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


def sides_with_room(facts: TreeFacts) -> list[tuple[int, str]]:
    """The sides on which there is room for an arm."""
    return [(side, name) for side, name in SIDES if run_of(facts, side) >= LEAST_ARM_MM]
