"""Leaves, young shoots and fruit: small shapes that say which species this is and never hide the wood."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin

from .canvas import Canvas, Point, at, number
from .geometry import Box, Trace, grain, turned
from .habits import Habit, LeafShape
from .sidewood import Piece
from .style import Options, Width

WIDTH = Width()

_Curve = tuple[tuple[float, float], ...]


def _lobed(radii: tuple[tuple[float, float], ...]) -> _Curve:
    """The right half of a lobed blade from (angle, radius) pairs around its middle, and its mirror image."""
    half = [(0.42 + radius * cos(radians(angle)), radius * sin(radians(angle))) for angle, radius in radii]
    return tuple(half + [(x, -y) for x, y in reversed(half)])


def _softened(corners: _Curve) -> _Curve:
    """The corners as control points, each followed by the middle to the next: rounded lobes."""
    soft: list[tuple[float, float]] = []
    for (ax, ay), (bx, by) in pairwise((*corners, corners[-1])):
        soft += [(ax, ay), ((ax + bx) / 2, (ay + by) / 2)]
    return tuple(soft)


# Blades of length 1 along x, base at the origin: two control points and an end point for either half.
OVATE: _Curve = ((0.10, 0.36), (0.62, 0.38), (1.0, 0.0), (0.62, -0.38), (0.10, -0.36), (0.0, 0.0))
LANCE: _Curve = ((0.22, 0.19), (0.60, 0.17), (1.0, 0.0), (0.60, -0.17), (0.22, -0.19), (0.0, 0.0))
HEART: _Curve = ((-0.12, 0.58), (0.62, 0.56), (1.0, 0.0), (0.62, -0.56), (-0.12, -0.58), (0.0, 0.0))
# Lobed blades as corners: from the stalk round by the right-hand lobes to the middle one and back.
VINE_LEAF = _lobed(((152, 0.58), (112, 0.56), (88, 0.34), (66, 0.62), (44, 0.56), (27, 0.33), (11, 0.55), (0, 0.62)))
FIG_LEAF = _lobed(
    (
        (150, 0.50),
        (112, 0.66),
        (88, 0.52),
        (72, 0.12),
        (58, 0.66),
        (44, 0.82),
        (30, 0.60),
        (20, 0.12),
        (14, 0.62),
        (4, 0.76),
    )
)
CURRANT_LEAF = _lobed(((150, 0.52), (76, 0.60), (42, 0.36), (12, 0.56), (0, 0.62)))
CUBIC = {"ovate": OVATE, "lance": LANCE, "heart": HEART, "threefold": OVATE}
ANGULAR = {"lobed": VINE_LEAF, "three_lobed": CURRANT_LEAF}
ROUNDED = {"fig": _softened(FIG_LEAF)}
BLADES = CUBIC | ANGULAR | ROUNDED
FEW_LEAVES = (-74.0, 66.0, -24.0, 26.0)
MANY_LEAVES = (-112.0, 104.0, -70.0, 62.0, -32.0, 2.0, 34.0)
LARGE_LEAF = 3.2
"""Leaves drawn larger than this [mm] leave room for a full rosette; smaller ones would run into a blot."""
TURN_DEG, SIZE_MM = 6, 0.2
"""A tree has hundreds of leaves: they are cut from patterns of these turns and sizes, too near for an eye to tell."""
STALK = 0.16
"""Length of the stalk against the blade."""


@cache
def leaf_pattern(shape: LeafShape, turn: int, size: int) -> str:
    """A stalk and its blade as path data that begins where the leaf does; ``turn`` and ``size`` count pattern steps."""
    angle, long = radians(turn * TURN_DEG), size * SIZE_MM
    ux, uy = cos(angle) * long, sin(angle) * long
    foot = (STALK * ux, STALK * uy)
    curve = [(a * ux - b * uy, a * uy + b * ux) for a, b in BLADES[shape]]
    stalk = f"l{_step(foot)}"
    if shape in ANGULAR:
        return stalk + "".join(f"l{_step(_from(a, b))}" for a, b in pairwise(((0.0, 0.0), *curve))) + "z"
    count, letter, end = (3, "c", "") if shape in CUBIC else (2, "q", "z")
    here, data = (0.0, 0.0), [stalk]
    for first in range(0, len(curve), count):
        points = curve[first : first + count]
        data.append(letter + " ".join(_step(_from(here, point)) for point in points))
        here = points[-1]
    return "".join(data) + end


@cache
def rib_pattern(turn: int, size: int) -> str:
    """The midrib of the same leaf, from its foot on."""
    angle, long = radians(turn * TURN_DEG), size * SIZE_MM
    foot, rib = STALK * long, 0.7 * long
    way = (cos(angle), sin(angle))
    return f"m{_step((way[0] * foot, way[1] * foot))}l{_step((way[0] * rib, way[1] * rib))}"


def _from(here: Point, there: Point) -> Point:
    return (there[0] - here[0], there[1] - here[1])


def _step(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def leaf_length(habit: Habit, scale: float, options: Options) -> float:
    """Length of a leaf as drawn [mm]: to scale, but neither a speck nor a blanket."""
    return min(max(habit.leaf_mm / scale, 1.3 if options.compact else 2.2), 8.5)


@dataclass
class Foliage:
    """What grows on one limb, collected before it is painted: shoots, leaves behind, leaves in front, fruit."""

    habit: Habit
    key: str
    scale: float
    options: Options
    room: Box
    shoots: list[str] = field(default_factory=list)
    back: list[str] = field(default_factory=list)
    front: list[str] = field(default_factory=list)
    ribs: list[str] = field(default_factory=list)
    fruit: list[tuple[Point, float]] = field(default_factory=list)

    @cached_property
    def blade(self) -> float:
        """Length of a leaf as drawn [mm]."""
        return leaf_length(self.habit, self.scale, self.options)

    def grow(self, piece: Piece) -> None:
        """This season's leaves on a piece of side wood."""
        if self.habit.side_wood == "vine":
            self._vine_shoot(piece)
        elif self.habit.side_wood == "shoots":
            self._leafy_shoot(piece)
        else:
            self._rosette(piece)

    def tip_leaves(self, trace: Trace, begin: float, end: float) -> None:
        """Leaves in turn along the growth of this season."""
        step = max(self.blade * 0.62 * self.scale, 45.0)
        station, index = begin, 0
        while station <= end:
            base, way = trace.place_at(station)
            side = 52 if index % 2 else -52
            self._leaf(base, turned(way, side), self.blade * 0.85, is_front=index % 3 == 0)
            station += step
            index += 1
        tip = trace.point_at(end)
        self._leaf(tip, trace.direction_at(end), self.blade * 0.8, is_front=True)

    def paint(self, canvas: Canvas) -> None:
        """Leaves behind, shoots, leaves in front with their midribs."""
        ink = self.options.ink
        fine = WIDTH.leaf
        self._paint_leaves(canvas, self.back, ink.leaf_fill_back)
        if self.shoots:
            canvas.add("path", d="".join(self.shoots), fill="none", stroke=ink.wood,
                       stroke_width=0.35 if self.options.compact else 0.45, stroke_linecap="round",
                       class_="wood")  # fmt: skip
        self._paint_leaves(canvas, self.front, ink.leaf_fill)
        if self.ribs and not self.options.compact:
            canvas.add("path", d="".join(self.ribs), fill="none", stroke=ink.leaf, stroke_width=fine, class_="leaf")

    def _rosette(self, piece: Piece) -> None:
        """The leaves of a spur, opening like a hand."""
        middle, tip = piece.way, piece.tip
        self.shoots.append(f"M{at(piece.base)}L{at(tip)}")
        spreads = MANY_LEAVES if self.blade >= LARGE_LEAF else FEW_LEAVES
        for index, spread in enumerate(spreads):
            wobble = 22 * (grain(self.key, 4000 + piece.index * 7 + index) - 0.5)
            scale = 0.8 + 0.4 * grain(self.key, 5000 + piece.index * 7 + index)
            self._leaf(tip, turned(middle, spread + wobble), self.blade * scale, is_front=index >= len(spreads) // 2)
        self._fruit_under(tip, piece, 0.42)

    def _leafy_shoot(self, piece: Piece) -> None:
        """A one-year shoot with leaves in turn."""
        self.shoots.append(f"M{at(piece.base)}Q{at(piece.bend)} {at(piece.tip)}")
        self._leaves_along(piece, max(2, round(piece.length / (self.blade * 0.48))))
        self._fruit_under(piece.on_curve(0.5), piece, 0.4)

    def _vine_shoot(self, piece: Piece) -> None:
        """The yearly shoot of a vine, rising from its spur, a bunch hanging near its base."""
        self.shoots.append(f"M{at(piece.base)}Q{at(piece.bend)} {at(piece.tip)}")
        self._leaves_along(piece, max(2, round(piece.length / (self.blade * 0.6))))
        self._fruit_under(piece.on_curve(0.16), piece, 0.6)

    def _leaves_along(self, piece: Piece, count: int) -> None:
        way = piece.way
        for index in range(count):
            t = 0.2 + 0.76 * index / count
            luck = grain(self.key, 700 + piece.index * 9 + index)
            turn = (60 if index % 2 else -60) + 30 * (luck - 0.5)
            size = self.blade * (1.0 - 0.35 * t) * (0.85 + 0.3 * (luck * 7 % 1))
            self._leaf(piece.on_curve(t), turned(way, turn), size, is_front=(index + piece.index) % 3 != 0)
        self._leaf(piece.tip, way, self.blade * 0.6, is_front=True)

    def _leaf(self, base: Point, way: Point, size: float, *, is_front: bool) -> None:
        """One leaf with its stalk, if it lies on the sheet."""
        room, reach = self.room, size * 0.62
        x, y = base[0] + way[0] * size * 0.6, base[1] + way[1] * size * 0.6
        if not (room.left + reach <= x <= room.right - reach and room.top + reach <= y <= room.bottom - reach):
            return
        angle = degrees(atan2(way[1], way[0]))
        if self.habit.leaf == "threefold":
            for turn, share in ((-58.0, 0.7), (58.0, 0.7), (0.0, 0.85)):
                self._blade(base, angle + turn, size * share, is_front=is_front)
        else:
            self._blade(base, angle, size, is_front=is_front)

    def _blade(self, base: Point, angle: float, size: float, *, is_front: bool) -> None:
        turn, steps = round(angle / TURN_DEG) % (360 // TURN_DEG), max(round(size / SIZE_MM), 1)
        start = f"M{at(base)}"
        (self.front if is_front else self.back).append(start + leaf_pattern(self.habit.leaf, turn, steps))
        if size > 2.6 and is_front:
            self.ribs.append(start + rib_pattern(turn, steps))

    def _fruit_under(self, spot: Point, piece: Piece, chance: float) -> None:
        if not self.options.with_fruit or grain(self.key, 600 + piece.index) >= chance:
            return
        radius = max(self.habit.fruit_mm / self.scale / 2, 0.8 if self.habit.fruit != "bunch" else 1.3)
        if not self.room.grown(-2.2 * radius).holds((spot[0], spot[1] + radius)):
            return
        if all(hypot(spot[0] - x, spot[1] + radius - y) > 1.25 * (radius + other) for (x, y), other in self.fruit):
            self.fruit.append(((spot[0], spot[1] + radius + 0.4), radius))

    def _paint_leaves(self, canvas: Canvas, leaves: list[str], fill: str) -> None:
        if leaves:
            with canvas.group(fill=fill, stroke=self.options.ink.leaf, stroke_width=WIDTH.leaf,
                              stroke_linejoin="round", class_="leaf"):  # fmt: skip
                canvas.figures(leaves)

    def paint_fruit(self, canvas: Canvas) -> None:
        """Fruit hangs in front of the wood."""
        if not self.fruit:
            return
        ink = self.options.ink
        with canvas.group(fill=ink.fruit_fill, stroke=ink.fruit, stroke_width=0.35, class_="fruit"):
            for centre, radius in self.fruit:
                if self.habit.fruit == "bunch":
                    _paint_bunch(canvas, centre, radius)
                elif self.habit.fruit == "pear":
                    canvas.add("path", d=_pear(centre, radius))
                else:
                    canvas.add("circle", cx=centre[0], cy=centre[1], r=radius)


def _pear(centre: Point, radius: float) -> str:
    (x, y), r = centre, radius
    top, foot = (x, y - r * 1.5), (x, y + r)
    right = f"C{at((x + r * 0.5, y - r))} {at((x + r * 1.3, y + r))} {at(foot)}"
    left = f"C{at((x - r * 1.3, y + r))} {at((x - r * 0.5, y - r))} {at(top)}"
    return f"M{at(top)}{right}{left}Z"


def _paint_bunch(canvas: Canvas, top: Point, radius: float) -> None:
    berry = radius * 0.42
    for row, count in enumerate((3, 2, 2, 1)):
        for index in range(count):
            x = top[0] + (index - (count - 1) / 2) * berry * 1.6 + (0.3 * berry if row == 2 else 0)
            canvas.add("circle", cx=x, cy=top[1] + row * berry * 1.35, r=berry)
