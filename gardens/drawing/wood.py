"""Wood in pen and ink: tapering limbs, the swelling at a joint, spurs and buds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import atan2, cos, degrees, exp, hypot, pi, radians, sin, sqrt

from gardens.training.state import TreeState

from .canvas import Canvas, Point, at
from .geometry import Trace, grain, moved, turned, unit
from .sidewood import Piece
from .skeleton import Skeleton
from .style import Options, Width

WIDTH = Width()
BUD_TURN_DEG = 6


@dataclass(frozen=True, slots=True)
class Taper:
    """Width of a limb as drawn [mm]: at its base, at its tip, and the swelling where it joins (share of the base)."""

    base: float
    tip: float
    collar: float = 0.4


def tapers(skeleton: Skeleton, scale: float, options: Options) -> dict[str, Taper]:
    """How thick each limb is drawn: the trunk by its girth or by all the wood it carries, limbs by their length."""
    grown = sum(course.limb.length_mm for course in skeleton.courses) / 1000
    near = sqrt(max(22.0 / scale, 1.0)) * options.boldness * min((60.0 / scale) ** 0.4, 1.0)
    trunk = min(0.8 + 0.42 * sqrt(grown), 2.7) * near * _thickened(skeleton.state)
    if skeleton.state.girth_mm:
        trunk = min(max(skeleton.state.girth_mm / pi / scale, 0.75 * trunk), 1.5 * trunk)
    leader = next((c.limb for c in skeleton.courses if c.limb.kind == "leader" and c.limb.length_mm > 0), None)
    carrying = {c.limb.parent for c in skeleton.courses if c.limb.length_mm > 0}
    neck = trunk * (0.62 if leader is None else 0.72)
    tip = max(WIDTH.arm_tip * sqrt(near), 0.4)
    thickness: dict[str, Taper] = {}
    for course in skeleton.courses:
        limb = course.limb
        if limb.kind == "trunk":
            is_bare = leader is None and limb.key not in carrying
            thickness[limb.key] = Taper(trunk, tip if is_bare else neck, 0.55)
        elif limb.parent == "" or (limb.kind == "leader" and limb.origin_y_mm <= 0):
            thickness[limb.key] = Taper(trunk, tip, 0.55)
        elif limb.kind == "leader":
            thickness[limb.key] = Taper(neck, tip, 0.05)
        else:
            own = min(0.62 + 0.46 * sqrt(limb.length_mm / 1000), WIDTH.arm) * near * (0.8 if limb.is_weak else 1.0)
            parent = thickness.get(limb.parent)
            most = own if parent is None else parent.tip * 0.92 if limb.parent == "trunk" else 0.8 * parent.base
            thickness[limb.key] = Taper(max(min(own, most), tip + 0.1), tip, 0.1)
    return thickness


def _thickened(state: TreeState) -> float:
    """How a stem thickens with its years: a young one is slender even where much wood hangs on it already."""
    years = max((state.on - state.facts.planted_on).days / 365, 0.0)
    if state.facts.start in ("ready_trained", "neglected"):
        years += 6.0
    return min(0.76 + 0.05 * years, 1.2)


def tapered_path(trace: Trace, taper: Taper, key: str, *, knob: float = 0.0) -> str:
    """The closed outline of a limb along its trace; ``knob`` is the swelling of a graft [share], low on a trunk."""
    whole = trace.paper_length() or 1.0
    drawn = 0.0
    left: list[Point] = []
    right: list[Point] = []
    last = trace.points[0]
    for index, point in enumerate(trace.points):
        drawn += hypot(point[0] - last[0], point[1] - last[1])
        before, after = trace.points[max(index - 1, 0)], trace.points[min(index + 1, len(trace.points) - 1)]
        tx, ty = unit(after[0] - before[0], after[1] - before[1])
        half = width_at(taper, drawn, whole) / 2 * (1 + 0.12 * (grain(key, 40 + index) - 0.5))
        if knob:
            half *= 1 + knob * exp(-(((trace.stations[index] - 130) / 60) ** 2))
        left.append((point[0] + ty * half, point[1] - tx * half))
        right.append((point[0] - ty * half, point[1] + tx * half))
        last = point
    tip = moved(trace.end, trace.direction_at(trace.stations[-1]), taper.tip * 0.7)
    return f"M{_flow(left)}Q{at(tip)} {_flow(right[::-1])}Z"


def width_at(taper: Taper, drawn: float, whole: float) -> float:
    """Width of a limb [mm] after ``drawn`` of its ``whole`` paper length."""
    share = float(max(1 - drawn / whole, 0.0) ** 0.8)
    body = taper.tip + (taper.base - taper.tip) * share
    return body + taper.base * taper.collar * exp(-drawn / (taper.base * 0.9))


def _flow(points: list[Point]) -> str:
    """Curve data that starts on the first point and ends on the last, smooth through the middles between."""
    if len(points) < 3:
        return "L".join(at(point) for point in points)
    pieces = [(a, b, (a + c) / 2, (b + d) / 2) for (a, b), (c, d) in pairwise(points[1:-1])]
    middle = ["Q%.2f %.2f %.2f %.2f" % piece for piece in pieces]  # noqa: UP031 - the quickest way
    return f"{at(points[0])}{''.join(middle)}Q{at(points[-2])} {at(points[-1])}"


def draw_spurs(canvas: Canvas, pieces: list[Piece], key: str, options: Options) -> None:
    """Short knobbly spurs with fat buds, older and forked towards the base of the limb."""
    sticks: list[str] = []
    buds: list[str] = []
    for piece in pieces:
        way = piece.way
        sticks.append(f"M{at(piece.base)}Q{at(piece.bend)} {at(piece.tip)}")
        buds.append(bud_path(piece.tip, way, 0.95))
        if piece.share < 0.6 and piece.length > 1.6 and grain(key, 300 + piece.index) > 0.35:
            fork = turned(way, -48 if grain(key, 310 + piece.index) > 0.5 else 42)
            knee = moved(piece.base, way, piece.length * 0.5)
            twig = moved(knee, fork, piece.length * 0.48)
            sticks.append(f"M{at(knee)}L{at(twig)}")
            buds.append(bud_path(twig, fork, 0.85))
    _stick_and_bud(canvas, sticks, buds, options)


def draw_shoots(canvas: Canvas, pieces: list[Piece], key: str, options: Options) -> None:
    """Slender one-year shoots, herringbone along the limb, buds on both sides."""
    sticks: list[str] = []
    buds: list[str] = []
    for piece in pieces:
        sticks.append(f"M{at(piece.base)}Q{at(piece.bend)} {at(piece.tip)}")
        way = unit(piece.tip[0] - piece.bend[0], piece.tip[1] - piece.bend[1])
        buds.append(bud_path(piece.tip, way, 0.8))
        count = max(int(piece.length / 2.2), 1)
        for place in range(count):
            spot = piece.on_curve(0.3 + 0.6 * place / count)
            buds.append(bud_path(spot, turned(way, 42 if place % 2 else -42), 0.75))
    _stick_and_bud(canvas, sticks, buds, options)


def draw_two_bud_spurs(canvas: Canvas, pieces: list[Piece], key: str, options: Options) -> None:
    """The stout spurs of a vine, each with last year's cane cut to two buds."""
    sticks: list[str] = []
    buds: list[str] = []
    for piece in pieces:
        way = unit(piece.tip[0] - piece.bend[0], piece.tip[1] - piece.bend[1])
        sticks.append(f"M{at(piece.base)}L{at(piece.bend)}L{at(piece.tip)}")
        buds.append(bud_path(moved(piece.bend, way, piece.length * 0.12), turned(way, -52), 1.0))
        buds.append(bud_path(moved(piece.bend, way, piece.length * 0.42), turned(way, 52), 1.0))
    _stick_and_bud(canvas, sticks, buds, options, width=0.8)


def draw_buds(
    canvas: Canvas, trace: Trace, stretch: tuple[float, float], bud: tuple[float, float], options: Options
) -> None:
    """Buds along young wood, left and right in turn, and one at the tip; ``bud`` is (distance along the limb, size)."""
    buds: list[str] = []
    (station, end), (spacing, size), index = stretch, bud, 0
    while station < end:
        way = trace.direction_at(station)
        buds.append(bud_path(trace.point_at(station), turned(way, 42 if index % 2 else -42), size))
        station += spacing
        index += 1
    buds.append(bud_path(trace.end, trace.direction_at(trace.stations[-1]), 1.0))
    canvas.add("path", d="".join(buds), fill=options.ink.wood, class_="wood")


def draw_bark(canvas: Canvas, trace: Trace, taper: Taper, key: str, options: Options) -> None:
    """A few light strokes along a thick stem, so that it reads as round."""
    if taper.base < 3.2 or options.compact:
        return
    strokes: list[str] = []
    whole = trace.paper_length()
    for lane, offset in enumerate((0.24, 0.02, 0.28)):
        drawn = 1.6 + 2.2 * grain(key, 60 + lane)
        while drawn < whole * 0.8:
            long = 1.4 + 2.4 * grain(key, int(70 + lane * 31 + drawn))
            width = width_at(taper, drawn, whole)
            if width < 2.6:
                break
            station = trace.stations[0] + trace.length * drawn / whole
            further = trace.stations[0] + trace.length * min((drawn + long) / whole, 0.85)
            side = (-offset if lane < 2 else offset) * width
            a, b = trace.point_at(station), trace.point_at(further)
            tx, ty = trace.direction_at(station)
            strokes.append(f"M{at((a[0] - ty * side, a[1] + tx * side))}L{at((b[0] - ty * side, b[1] + tx * side))}")
            drawn += long + 1.8 + 3.0 * grain(key, int(90 + lane * 17 + drawn))
    if strokes:
        canvas.add("path", d="".join(strokes), fill="none", stroke=options.ink.paper, stroke_width=WIDTH.leaf,
                   stroke_linecap="round", class_="bark")  # fmt: skip


def bud_path(base: Point, way: Point, size: float) -> str:
    """A bud: a small drop, point outward. Buds are cut from patterns of six degrees: a tree has hundreds."""
    turn = round(degrees(atan2(way[1], way[0])) / BUD_TURN_DEG) % (360 // BUD_TURN_DEG)
    return f"M{at(base)}{_bud(turn, size)}"


@cache
def _bud(turn: int, size: float) -> str:
    angle = radians(turn * BUD_TURN_DEG)
    ux, uy = cos(angle) * size, sin(angle) * size
    left = (0.35 * ux - 0.42 * uy, 0.35 * uy + 0.42 * ux)
    right = (0.35 * ux + 0.42 * uy, 0.35 * uy - 0.42 * ux)
    return f"q{at(left)} {at((ux, uy))}q{at((right[0] - ux, right[1] - uy))} {at((-ux, -uy))}z"


def _stick_and_bud(
    canvas: Canvas, sticks: list[str], buds: list[str], options: Options, width: float = WIDTH.spur
) -> None:
    if not sticks:
        return
    ink = options.ink.wood
    canvas.add(
        "path", d="".join(sticks), fill="none", stroke=ink, stroke_width=max(width * options.boldness, 0.4),
        stroke_linecap="round", stroke_linejoin="round", class_="wood",
    )  # fmt: skip
    canvas.add("path", d="".join(buds), fill=ink, class_="wood")
