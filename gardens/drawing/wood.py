"""Wood in pen and ink: tapering limbs, the swelling at a joint, spurs and buds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, hypot, pi, sqrt

from .canvas import Canvas, Point, at
from .geometry import Trace, grain, moved, turned, unit
from .habits import Habit
from .skeleton import STEM_KINDS, Skeleton
from .style import Options, Width

WIDTH = Width()


@dataclass(frozen=True, slots=True)
class Taper:
    """Width of a limb as drawn [mm]: at its base, at its tip, and the swelling where it joins (share of the base)."""

    base: float
    tip: float
    collar: float = 0.4


def tapers(skeleton: Skeleton, scale: float, options: Options) -> dict[str, Taper]:
    """How thick each limb is drawn: the trunk by its girth or by all the wood it carries, limbs by their length."""
    grown = sum(course.limb.length_mm for course in skeleton.courses) / 1000
    near = sqrt(max(22.0 / scale, 1.0)) * options.boldness
    trunk = min(0.8 + 0.42 * sqrt(grown), 2.7) * near
    if skeleton.state.girth_mm:
        trunk = min(max(skeleton.state.girth_mm / pi / scale, 0.7 * trunk), 1.6 * trunk)
    leader = next((c.limb for c in skeleton.courses if c.limb.kind == "leader" and c.limb.length_mm > 0), None)
    thickness: dict[str, Taper] = {}
    neck = trunk * (0.62 if leader is None else 0.72)
    tip = WIDTH.arm_tip * max(options.boldness, 0.8) * sqrt(near / options.boldness)
    for course in skeleton.courses:
        limb = course.limb
        if limb.kind == "trunk":
            is_tip = leader is None and not any(c.limb.parent == limb.key for c in skeleton.courses if c.limb.length_mm)
            thickness[limb.key] = Taper(trunk, tip if is_tip else neck, 0.55)
        elif limb.kind == "leader":
            thickness[limb.key] = Taper(neck if limb.origin_y_mm > 0 else trunk, tip, 0.05)
        else:
            own = min(0.62 + 0.46 * sqrt(limb.length_mm / 1000), WIDTH.arm) * near * (0.8 if limb.is_weak else 1.0)
            parent = thickness.get(limb.parent)
            most = 0.8 * parent.base if parent and limb.kind != "axis" else own
            thickness[limb.key] = Taper(max(min(own, most), tip + 0.1), tip)
    return thickness


def tapered_path(trace: Trace, taper: Taper, key: str) -> str:
    """The closed outline of a limb along its trace."""
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
        left.append((point[0] + ty * half, point[1] - tx * half))
        right.append((point[0] - ty * half, point[1] + tx * half))
        last = point
    tip = moved(trace.end, trace.direction_at(trace.stations[-1]), taper.tip * 0.7)
    return f"M{_flow(left)}Q{at(tip)} {at(right[-1])}{_flow(right[::-1])[len(at(right[-1])) :]}Z"


def width_at(taper: Taper, drawn: float, whole: float) -> float:
    """Width of a limb [mm] after ``drawn`` of its ``whole`` paper length."""
    share = max(1 - drawn / whole, 0.0) ** 0.8
    body = taper.tip + (taper.base - taper.tip) * share
    return body + taper.base * taper.collar * exp(-drawn / (taper.base * 0.9))


def _flow(points: list[Point]) -> str:
    """Curve data that starts on the first point and ends on the last, smooth through the middles between."""
    if len(points) < 3:
        return "L".join(at(point) for point in points)
    data = [at(points[0])]
    for here, following in zip(points[1:-2], points[2:-1], strict=True):
        data.append(f"Q{at(here)} {at(((here[0] + following[0]) / 2, (here[1] + following[1]) / 2))}")
    data.append(f"Q{at(points[-2])} {at(points[-1])}")
    return "".join(data)


@dataclass(frozen=True, slots=True)
class Seat:
    """A place on a limb where side wood sits: its base, the way outward, its place along the limb (0 base, 1 tip)."""

    index: int
    station: float
    base: Point
    outward: Point
    along: Point
    share: float
    is_upper: bool


def seats(trace: Trace, habit: Habit, key: str, scale: float, *, begin: float, end: float) -> Iterator[Seat]:
    """Where side wood sits between two distances along a limb, alternating sides, a little unevenly."""
    step = max(habit.spacing_mm, scale * 2.7)
    index, station = 0, begin + step * (0.3 + 0.4 * grain(key, 7))
    while station < end:
        along = trace.direction_at(station)
        normal = (along[1], -along[0])
        rises = normal[1] < 0
        wants_upper = index % 2 == 0
        flip = (rises != wants_upper) if abs(along[0]) > 0.25 else index % 2 == 1
        outward = (-normal[0], -normal[1]) if flip else normal
        yield Seat(index, station, trace.point_at(station), outward, along, station / max(end, 1.0), outward[1] < -0.2)
        station += step * (0.75 + 0.5 * grain(key, 100 + index))
        index += 1


def draw_spurs(canvas: Canvas, places: list[Seat], habit: Habit, key: str, scale: float, options: Options) -> None:
    """Short knobbly spurs with fat buds, older and forked towards the base of the limb."""
    sticks: list[str] = []
    buds: list[str] = []
    for seat in places:
        long = max(habit.shoot_mm / scale, 1.5) * (0.65 + 0.6 * grain(key, 200 + seat.index))
        long *= 1.0 if seat.is_upper or abs(seat.outward[1]) < 0.5 else 0.75
        way = unit(
            seat.outward[0] + 0.45 * seat.along[0], seat.outward[1] + 0.45 * seat.along[1] - 0.3 * abs(seat.along[0])
        )
        tip = moved(seat.base, way, long)
        bend = moved(moved(seat.base, seat.outward, long * 0.6), seat.along, -0.08 * long)
        sticks.append(f"M{at(seat.base)}Q{at(bend)} {at(tip)}")
        buds.append(bud_path(tip, way, 0.95))
        if seat.share < 0.6 and grain(key, 300 + seat.index) > 0.35:
            fork = turned(way, -48 if grain(key, 310 + seat.index) > 0.5 else 42)
            knee = moved(seat.base, way, long * 0.5)
            twig = moved(knee, fork, long * 0.48)
            sticks.append(f"M{at(knee)}L{at(twig)}")
            buds.append(bud_path(twig, fork, 0.85))
    _stick_and_bud(canvas, sticks, buds, options)


def draw_shoots(canvas: Canvas, places: list[Seat], habit: Habit, key: str, scale: float, options: Options) -> None:
    """Slender one-year shoots, herringbone along the limb, buds on both sides."""
    sticks: list[str] = []
    buds: list[str] = []
    for seat in places:
        base, bend, tip = shoot_line(seat, habit, key, scale)
        sticks.append(f"M{at(base)}Q{at(bend)} {at(tip)}")
        way = unit(tip[0] - bend[0], tip[1] - bend[1])
        buds.append(bud_path(tip, way, 0.8))
        for part in (0.35, 0.6, 0.82):
            spot = _on_curve(base, bend, tip, part)
            buds.append(bud_path(spot, turned(way, 40 if part == 0.6 else -40), 0.75))
    _stick_and_bud(canvas, sticks, buds, options)


def draw_two_bud_spurs(
    canvas: Canvas, places: list[Seat], habit: Habit, key: str, scale: float, options: Options
) -> None:
    """The stout spurs of a vine, each with last year's cane cut to two buds."""
    sticks: list[str] = []
    buds: list[str] = []
    for seat in places:
        long = max(95 / scale, 2.1) * (0.85 + 0.3 * grain(key, 200 + seat.index))
        way = unit(seat.outward[0] * 0.8, seat.outward[1] - 0.5)
        knee = moved(seat.base, seat.outward, long * 0.35)
        tip = moved(knee, way, long * 0.65)
        sticks.append(f"M{at(seat.base)}L{at(knee)}L{at(tip)}")
        buds.append(bud_path(moved(knee, way, long * 0.18), turned(way, -52), 1.0))
        buds.append(bud_path(moved(knee, way, long * 0.46), turned(way, 52), 1.0))
    _stick_and_bud(canvas, sticks, buds, options, width=0.8)


def draw_buds(canvas: Canvas, trace: Trace, begin: float, end: float, spacing: float, options: Options) -> None:
    """Buds along young wood, left and right in turn, and one at the very tip."""
    buds: list[str] = []
    station, index = begin, 0
    while station < end:
        way = trace.direction_at(station)
        buds.append(bud_path(trace.point_at(station), turned(way, 38 if index % 2 else -38), 1.0))
        station += spacing
        index += 1
    buds.append(bud_path(trace.end, trace.direction_at(trace.stations[-1]), 1.0))
    canvas.add("path", d="".join(buds), fill=options.ink.wood, class_="wood")


def shoot_line(seat: Seat, habit: Habit, key: str, scale: float) -> tuple[Point, Point, Point]:
    """Base, bend and tip of a one-year shoot."""
    long = max(habit.shoot_mm / scale, 3.2) * (0.7 + 0.5 * grain(key, 200 + seat.index))
    way = unit(seat.outward[0] + 0.9 * seat.along[0], seat.outward[1] + 0.9 * seat.along[1] - 0.35 * abs(seat.along[0]))
    bend = moved(moved(seat.base, seat.outward, long * 0.28), seat.along, long * 0.2)
    return seat.base, bend, moved(seat.base, way, long)


def bud_path(base: Point, way: Point, size: float) -> str:
    """A bud: a small drop, point outward."""
    side = (-way[1], way[0])
    tip = moved(base, way, size)
    left, right = moved(base, side, size * 0.42), moved(base, side, -size * 0.42)
    return f"M{at(base)}Q{at(moved(left, way, size * 0.35))} {at(tip)}Q{at(moved(right, way, size * 0.35))} {at(base)}Z"


def is_stem(kind: str) -> bool:
    return kind in STEM_KINDS


def _on_curve(base: Point, bend: Point, tip: Point, t: float) -> Point:
    a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
    return (a * base[0] + b * bend[0] + c * tip[0], a * base[1] + b * bend[1] + c * tip[1])


def _stick_and_bud(
    canvas: Canvas, sticks: list[str], buds: list[str], options: Options, width: float = WIDTH.spur
) -> None:
    if not sticks:
        return
    ink = options.ink.wood
    canvas.add(
        "path",
        d="".join(sticks),
        fill="none",
        stroke=ink,
        stroke_width=max(width * options.boldness, 0.4),
        stroke_linecap="round",
        stroke_linejoin="round",
        class_="wood",
    )
    canvas.add("path", d="".join(buds), fill=ink, class_="wood")
