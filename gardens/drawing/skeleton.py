"""The centre lines of a tree in the garden: where each limb runs today, and where it should run one day.

A limb leaves its parent in a curve, as grown wood does: the corner between the parent's line and its own is rounded,
and from the end of that curve on it lies exactly on its line. Distances along a limb are counted from the corner, so
a mark at 600 mm sits where the tape says 600 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from math import cos, hypot, radians, sin

from gardens.training.state import Limb, TreeState

from .canvas import Point
from .frame import Reach, View
from .geometry import Trace, grain, swaying

FLAT_FORMS = ("horizontal_tiers", "step_over", "vine_rod_and_spur", "vine_cane_replacement", "vine_tiers")
"""Forms whose arms end along the wire, for limbs that do not say so themselves."""

STEM_KINDS = ("trunk", "leader")
IN_PLACE_DEG = 4.0
"""A limb this near to its final angle lies in its place; only its missing tip is still to be shown."""

BEND_MM = 130.0
"""How tightly young wood is bent from the flat to the upright."""

Line = tuple[tuple[Point, float], ...]
"""Points in the garden [mm], each with its distance along the limb; the joint with the parent lies below zero."""


@dataclass(frozen=True, slots=True)
class Course:
    """One limb as lines in the garden. ``present`` is empty where nothing has grown yet."""

    limb: Limb
    present: Line
    wanted: Line
    is_in_place: bool


@dataclass(frozen=True, slots=True)
class Skeleton:
    """All limbs of a tree, the stem first."""

    state: TreeState
    courses: tuple[Course, ...]

    def course(self, key: str) -> Course | None:
        return next((course for course in self.courses if course.limb.key == key), None)

    def reach(self, *, with_wanted: bool = True) -> Reach:
        """The rectangle that holds the tree as it is and as it is wanted."""
        points = [p for course in self.courses for p, _ in course.present]
        if with_wanted:
            points += [p for course in self.courses for p, _ in course.wanted]
        xs, ys = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
        return Reach(min(xs), min(0.0, *ys), max(xs), max(ys))


def wanted_angle(limb: Limb, form: str) -> float:
    """The angle of a limb in its final place [°]."""
    if limb.wanted_angle_deg is not None:
        return limb.wanted_angle_deg
    if form in FLAT_FORMS and limb.kind in ("arm", "cane") and limb.side:
        return 0.0
    return limb.angle_deg


@lru_cache(maxsize=128)
def build_skeleton(state: TreeState) -> Skeleton:
    """The centre lines of every limb, and of the trunk that carries them even where none was listed."""
    limbs = {limb.key: limb for limb in _with_trunk(state)}
    order = sorted(limbs.values(), key=lambda limb: (limb.kind not in STEM_KINDS, limb.kind == "leader"))
    return Skeleton(state, tuple(_course(limb, limbs, state.facts.form) for limb in order))


def trace_on(view: View, line: Line, key: str) -> Trace | None:
    """A line of the garden as a trace on paper with the sway of grown wood."""
    if len(line) < 2:
        return None
    fine = _refined(line, view.scale * 3.2)
    points = tuple(view.place(x, y) for (x, y), _ in fine)
    return swaying(Trace(points, tuple(s for _, s in fine)), key, 0.26)


def direction(limb: Limb, angle: float) -> Point:
    """The way a limb grows at an angle [°], y upward."""
    return (cos(radians(angle)) * (limb.side or 1), sin(radians(angle)))


def _with_trunk(state: TreeState) -> list[Limb]:
    limbs = list(state.limbs)
    leader = next((limb for limb in limbs if limb.kind == "leader"), None)
    trunk = next((limb for limb in limbs if limb.kind == "trunk"), None)
    carried = [limb.origin_y_mm for limb in limbs if limb.parent in STEM_KINDS and limb.length_mm > 0]
    if trunk is not None:
        needed = max([trunk.length_mm, *([] if leader else carried)])
        limbs[limbs.index(trunk)] = replace(trunk, length_mm=needed)
        return limbs
    if (leader is not None and leader.origin_y_mm <= 0) or any(limb.parent == "" for limb in limbs):
        return limbs
    height = leader.origin_y_mm if leader else max([state.leader_height_mm, *carried])
    if height > 0:
        limbs.insert(0, Limb(key="trunk", kind="trunk", status="set", length_mm=height, wanted_mm=height))
    return limbs


def _course(limb: Limb, limbs: dict[str, Limb], form: str) -> Course:
    final = wanted_angle(limb, form)
    present = _line(limb, limbs, limb.angle_deg, limb.length_mm)
    if present and limb.side and limb.angle_deg < 20 and limb.length_mm < limb.wanted_mm and not limb.course_mm:
        present = _lifted(present)
    wanted = _line(limb, limbs, final, limb.wanted_mm)
    return Course(limb, present, wanted, bool(limb.course_mm) or abs(final - limb.angle_deg) <= IN_PLACE_DEG)


def _line(limb: Limb, limbs: dict[str, Limb], angle: float, length: float) -> Line:
    if length <= 0:
        return ()
    corners = _corners(limb, angle, length)
    if limb.kind in STEM_KINDS or limb.parent == "":
        return _rounded(corners, 0.0)
    came, room = _parent_way(limb, limbs)
    (x0, y0), (x1, y1) = corners[0], corners[1]
    span = hypot(x1 - x0, y1 - y0) or 1.0
    turn = abs(came[0] * (y1 - y0) - came[1] * (x1 - x0)) / span
    joint = min(45 + 50 * turn, span * 0.55, room)
    if turn < 0.08 or joint < 1:
        return _rounded(corners, 0.0)
    start = (x0 - came[0] * joint, y0 - came[1] * joint)
    return _rounded([start, *corners], joint)


def _corners(limb: Limb, angle: float, length: float) -> list[Point]:
    """The limb as straight pieces from its origin to its end at this length."""
    origin = (float(limb.origin_x_mm), float(limb.origin_y_mm))
    if len(limb.course_mm) < 2:
        way = direction(limb, angle)
        return [origin, (origin[0] + way[0] * length, origin[1] + way[1] * length)]
    corners: list[Point] = [origin]
    left = length
    for (ax, ay), (bx, by) in pairwise(limb.course_mm):
        span = hypot(bx - ax, by - ay)
        share = min(left / span, 1.0) if span else 0.0
        if span:
            corners.append((ax + (bx - ax) * share, ay + (by - ay) * share))
        left -= span
        if left <= 0:
            break
    return corners if len(corners) > 1 else [origin, (origin[0], origin[1] + length)]


def _rounded(corners: list[Point], joint: float) -> Line:
    """The pieces with every corner rounded; ``joint`` is the length of a first piece that belongs to the parent."""
    spans = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(corners)]
    line: list[tuple[Point, float]] = [(corners[0], -joint)]
    walked = -joint
    for index in range(1, len(corners) - 1):
        before, here, after = corners[index - 1 : index + 2]
        is_joint = index == 1 and joint > 0
        radius = joint if is_joint else min(BEND_MM, *(spans[k] * _share(k, len(spans)) for k in (index - 1, index)))
        walked += spans[index - 1]
        back = _toward(here, before, radius)
        ahead = _toward(here, after, radius)
        for step in range(6):
            t = step / 5
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            point = (a * back[0] + b * here[0] + c * ahead[0], a * back[1] + b * here[1] + c * ahead[1])
            if not (is_joint and step == 0):
                line.append((point, walked + radius * (2 * t - 1)))
    line.append((corners[-1], walked + spans[-1]))
    return tuple(line)


def _share(index: int, count: int) -> float:
    """How much of a piece one corner may take: nearly all of the last one, less than half of one between two corners."""
    return 0.9 if index == count - 1 else 0.48


def _toward(here: Point, there: Point, by: float) -> Point:
    span = hypot(there[0] - here[0], there[1] - here[1]) or 1.0
    return (here[0] + (there[0] - here[0]) * by / span, here[1] + (there[1] - here[1]) * by / span)


def _parent_way(limb: Limb, limbs: dict[str, Limb]) -> tuple[Point, float]:
    """The direction in which the parent arrives at the joint, and how far back the joint may begin [mm]."""
    parent = limbs.get(limb.parent)
    if parent is None or parent.kind in STEM_KINDS:
        way = direction(parent, parent.angle_deg) if parent else (0.0, 1.0)
        return way, max(limb.origin_y_mm * 0.5, 0.0)
    along = hypot(limb.origin_x_mm - parent.origin_x_mm, limb.origin_y_mm - parent.origin_y_mm)
    if len(parent.course_mm) >= 2:
        left = along
        for (ax, ay), (bx, by) in pairwise(parent.course_mm):
            span = hypot(bx - ax, by - ay) or 1.0
            if left <= span + 1:
                return ((bx - ax) / span, (by - ay) / span), min(along, max(left, 1.0)) * 0.6
            left -= span
    return direction(parent, parent.angle_deg), along * 0.6


def _lifted(line: Line) -> Line:
    """The growing tip of a flat limb left to rise a little, as every careful trainer leaves it."""
    (x0, y0), s0 = line[-2]
    (x1, y1), s1 = line[-1]
    reach = min((s1 - s0) * 0.5, 260.0)
    lifted = list(line[:-1])
    for step in range(6):
        part = 1 - reach * (1 - step / 5) / max(s1 - s0, 1e-6)
        rise = reach * 0.16 * (step / 5) ** 2
        lifted.append(((x0 + (x1 - x0) * part, y0 + (y1 - y0) * part + rise), s0 + (s1 - s0) * part))
    return tuple(lifted)


def _refined(line: Line, step: float) -> Line:
    """The line with points no further apart than a step [mm], a little unevenly as nature has it."""
    fine = [line[0]]
    for index, ((a, sa), (b, sb)) in enumerate(pairwise(line)):
        pieces = int(hypot(b[0] - a[0], b[1] - a[1]) / step) + 1
        for piece in range(1, pieces + 1):
            part = piece / pieces
            if piece < pieces:
                part += (grain(f"{index}", piece) - 0.5) * 0.3 / pieces
            fine.append(((a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part), sa + (sb - sa) * part))
    return tuple(fine)
