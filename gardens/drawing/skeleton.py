"""The centre lines of a tree in the garden: where each limb runs today, and where it should run one day.

A limb leaves its parent in a curve, as grown wood does: the corner between the parent's line and its own is rounded,
and from the end of that curve on it lies exactly on its line. Distances along a limb are counted from the corner, so
a mark at 600 mm sits where the tape says 600 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, hypot, radians, sin

from gardens.training.state import Limb, TreeState

from .canvas import Point
from .frame import Reach, View
from .geometry import Trace, grain, swaying

FLAT_FORMS = ("horizontal_tiers", "step_over", "vine_rod_and_spur", "vine_cane_replacement", "vine_tiers")
"""Forms whose arms end along the wire, for limbs that do not say so themselves."""

STEM_KINDS = ("trunk", "leader")


@dataclass(frozen=True, slots=True)
class Course:
    """One limb as lines in the garden [mm]. ``present`` is empty where nothing has grown yet."""

    limb: Limb
    present: tuple[tuple[Point, float], ...]
    wanted: tuple[tuple[Point, float], ...]

    @property
    def is_in_place(self) -> bool:
        """Whether the limb already lies on its final line, so that only its tip is missing."""
        return wanted_angle(self.limb, "") == self.limb.angle_deg


@dataclass(frozen=True, slots=True)
class Skeleton:
    """All limbs of a tree, the stem first."""

    state: TreeState
    courses: tuple[Course, ...]

    def course(self, key: str) -> Course | None:
        return next((course for course in self.courses if course.limb.key == key), None)

    def reach(self) -> Reach:
        """The rectangle that holds the tree as it is and as it is wanted."""
        points = [p for course in self.courses for p, _ in (*course.present, *course.wanted)]
        xs, ys = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
        return Reach(min(xs), min(0.0, *ys), max(xs), max(ys))


def wanted_angle(limb: Limb, form: str) -> float:
    """The angle of a limb in its final place [°]."""
    if limb.wanted_angle_deg is not None:
        return limb.wanted_angle_deg
    if form in FLAT_FORMS and limb.kind in ("arm", "cane") and limb.side:
        return 0.0
    return limb.angle_deg


def build_skeleton(state: TreeState) -> Skeleton:
    """The centre lines of every limb, and of the trunk that carries them even where none was listed."""
    limbs = {limb.key: limb for limb in _with_trunk(state)}
    turned_up = {limb.parent for limb in limbs.values() if limb.kind == "axis" and limb.length_mm > 0}
    elbows = {key for key in turned_up if key in limbs and limbs[key].kind not in STEM_KINDS}
    order = sorted(limbs.values(), key=lambda limb: (limb.kind not in STEM_KINDS, limb.kind == "leader"))
    return Skeleton(state, tuple(_course(limb, limbs, state.facts.form, elbows) for limb in order))


def trace_on(view: View, line: tuple[tuple[Point, float], ...], key: str) -> Trace | None:
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
    if leader is not None and leader.origin_y_mm <= 0:
        return limbs
    height = leader.origin_y_mm if leader else max([state.leader_height_mm, *carried])
    if height > 0:
        limbs.insert(0, Limb(key="trunk", kind="trunk", status="set", length_mm=height, wanted_mm=height))
    return limbs


def _course(limb: Limb, limbs: dict[str, Limb], form: str, elbows: set[str]) -> Course:
    present = _line(limb, limbs, limb.angle_deg, limb.length_mm)
    if limb.key in elbows and len(present) > 1:
        present = _shortened(present, min(120.0, limb.length_mm * 0.6))
    elif present and limb.side and limb.angle_deg < 20 and limb.length_mm < limb.wanted_mm:
        present = _lifted(present)
    wanted = _line(limb, limbs, wanted_angle(limb, form), limb.wanted_mm)
    if limb.key in elbows and len(wanted) > 1:
        wanted = _shortened(wanted, min(120.0, limb.wanted_mm * 0.6))
    return Course(limb, tuple(present), tuple(wanted))


def _line(limb: Limb, limbs: dict[str, Limb], angle: float, length: float) -> list[tuple[Point, float]]:
    """Points with their distance from the origin; the joint with the parent has distances below zero."""
    if length <= 0:
        return []
    origin = (float(limb.origin_x_mm), float(limb.origin_y_mm))
    way = direction(limb, angle)
    end = (origin[0] + way[0] * length, origin[1] + way[1] * length)
    if limb.kind in STEM_KINDS:
        return [(origin, 0.0), (end, float(length))]
    came, room = _parent_way(limb, limbs)
    turn = abs(came[0] * way[1] - came[1] * way[0])
    radius = min(130.0 if limb.kind == "axis" else 45 + 50 * turn, length * 0.55, room)
    if turn < 0.08 or radius < 1:
        return [(origin, 0.0), (end, float(length))]
    start = (origin[0] - came[0] * radius, origin[1] - came[1] * radius)
    line: list[tuple[Point, float]] = []
    if limb.kind == "axis" and limb.parent in STEM_KINDS and abs(limb.origin_x_mm) > radius:
        line.append(((0.0, origin[1] - came[1]), -abs(float(limb.origin_x_mm))))
    for step in range(6):
        t = step / 5
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        on_way = (origin[0] + way[0] * radius, origin[1] + way[1] * radius)
        point = (a * start[0] + b * origin[0] + c * on_way[0], a * start[1] + b * origin[1] + c * on_way[1])
        line.append((point, radius * (2 * t - 1)))
    line.append((end, float(length)))
    return line


def _parent_way(limb: Limb, limbs: dict[str, Limb]) -> tuple[Point, float]:
    """The direction in which the parent arrives at the joint, and how far back the joint may begin [mm]."""
    parent = limbs.get(limb.parent)
    if limb.kind == "axis" and limb.parent in STEM_KINDS and abs(limb.origin_x_mm) > 20:
        side = 1.0 if limb.origin_x_mm > 0 else -1.0
        return (side, 0.0), abs(limb.origin_x_mm) * 0.8
    if parent is None or parent.kind in STEM_KINDS:
        way = direction(parent, parent.angle_deg) if parent else (0.0, 1.0)
        return way, max(limb.origin_y_mm * 0.5, 0.0)
    way = direction(parent, parent.angle_deg)
    along = hypot(limb.origin_x_mm - parent.origin_x_mm, limb.origin_y_mm - parent.origin_y_mm)
    return way, along * 0.6


def _shortened(line: list[tuple[Point, float]], by: float) -> list[tuple[Point, float]]:
    (x0, y0), s0 = line[-2]
    (x1, y1), s1 = line[-1]
    part = max(1 - by / max(s1 - s0, 1e-6), 0.05)
    return [*line[:-1], ((x0 + (x1 - x0) * part, y0 + (y1 - y0) * part), s0 + (s1 - s0) * part)]


def _lifted(line: list[tuple[Point, float]]) -> list[tuple[Point, float]]:
    """The growing tip of a flat limb left to rise a little, as every careful trainer leaves it."""
    (x0, y0), s0 = line[-2]
    (x1, y1), s1 = line[-1]
    reach = min((s1 - s0) * 0.5, 260.0)
    lifted = list(line[:-1])
    for step in range(6):
        part = 1 - reach * (1 - step / 5) / (s1 - s0)
        rise = reach * 0.16 * (step / 5) ** 2
        lifted.append(((x0 + (x1 - x0) * part, y0 + (y1 - y0) * part + rise), s0 + (s1 - s0) * part))
    return lifted


def _refined(line: tuple[tuple[Point, float], ...], step: float) -> list[tuple[Point, float]]:
    """The line with points no further apart than a step [mm], a little unevenly as nature has it."""
    fine = [line[0]]
    for index, ((a, sa), (b, sb)) in enumerate(zip(line, line[1:], strict=False)):
        pieces = int(hypot(b[0] - a[0], b[1] - a[1]) / step) + 1
        for piece in range(1, pieces + 1):
            part = piece / pieces
            if piece < pieces:
                part += (grain(f"{index}", piece) - 0.5) * 0.3 / pieces
            fine.append(((a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part), sa + (sb - sa) * part))
    return fine
