"""Leaves, young shoots and fruit: small shapes that say which species this is and never hide the wood."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, radians, sin

from .canvas import Canvas, Point, at, number
from .geometry import Trace, grain, moved, turned, unit
from .habits import Habit
from .style import Options, Width
from .wood import Seat, shoot_line

WIDTH = Width()

_Curve = tuple[tuple[float, float], ...]


def _lobed(radii: tuple[tuple[float, float], ...]) -> _Curve:
    """Control and end points of a lobed blade from (angle, radius) pairs around the middle of the blade."""
    points: list[tuple[float, float]] = []
    for angle, radius in radii:
        points.append((0.42 + radius * cos(radians(angle)), radius * sin(radians(angle))))
    return tuple(points)


# Blades of length 1 along x, base at the origin. "C": two control points and an end point each; "Q": one and an end.
OVATE: _Curve = ((0.10, 0.36), (0.62, 0.38), (1.0, 0.0), (0.62, -0.38), (0.10, -0.36), (0.0, 0.0))
LANCE: _Curve = ((0.22, 0.20), (0.60, 0.18), (1.0, 0.0), (0.60, -0.18), (0.22, -0.20), (0.0, 0.0))
HEART: _Curve = ((-0.12, 0.58), (0.62, 0.56), (1.0, 0.0), (0.62, -0.56), (-0.12, -0.58), (0.0, 0.0))
VINE_LEAF = _lobed(
    (
        (150, 0.62),
        (112, 0.60),
        (84, 0.30),
        (62, 0.64),
        (42, 0.62),
        (28, 0.30),
        (10, 0.62),
        (0, 0.60),
        (-10, 0.62),
        (-28, 0.30),
        (-42, 0.62),
        (-62, 0.64),
        (-84, 0.30),
        (-112, 0.60),
        (-150, 0.62),
    )
)
FIG_LEAF = _lobed(
    (
        (140, 0.50),
        (100, 0.56),
        (76, 0.18),
        (50, 0.66),
        (36, 0.62),
        (24, 0.20),
        (9, 0.66),
        (-9, 0.66),
        (-24, 0.20),
        (-36, 0.62),
        (-50, 0.66),
        (-76, 0.18),
        (-100, 0.56),
        (-140, 0.50),
    )
)
CUBIC = {"ovate": OVATE, "lance": LANCE, "heart": HEART, "threefold": OVATE}
ANGULAR = {"lobed": VINE_LEAF, "fig": FIG_LEAF}


@dataclass
class Foliage:
    """What grows on one limb, collected before it is painted: stalks and shoots, leaves behind, leaves in front."""

    habit: Habit
    key: str
    scale: float
    options: Options
    shoots: list[str] = field(default_factory=list)
    back: list[str] = field(default_factory=list)
    front: list[str] = field(default_factory=list)
    ribs: list[str] = field(default_factory=list)
    fruit: list[tuple[Point, float]] = field(default_factory=list)

    @property
    def blade(self) -> float:
        """Length of a leaf as drawn [mm]: to scale, but neither a speck nor a blanket."""
        return min(max(self.habit.leaf_mm / self.scale, 2.2), 8.5)

    def leaf(self, base: Point, way: Point, size: float, *, is_front: bool) -> None:
        """One leaf with its stalk."""
        foot = moved(base, way, size * 0.16)
        if self.habit.leaf == "threefold":
            for turn, share in ((-58.0, 0.7), (58.0, 0.7), (0.0, 0.85)):
                self._blade(foot, turned(way, turn), size * share, is_front=is_front, stalk_from=base)
        else:
            self._blade(foot, way, size, is_front=is_front, stalk_from=base)

    def _blade(self, foot: Point, way: Point, size: float, *, is_front: bool, stalk_from: Point) -> None:
        ux, uy = way[0] * size, way[1] * size
        shape = self.habit.leaf
        curve = CUBIC.get(shape) or ANGULAR[shape]
        spots = [at((foot[0] + a * ux - b * uy, foot[1] + a * uy + b * ux)) for a, b in curve]
        if shape in CUBIC:
            data = f"M{at(stalk_from)}L{at(foot)}C{' '.join(spots[:3])}C{' '.join(spots[3:])}"
        else:
            data = f"M{at(stalk_from)}L{at(foot)}L{'L'.join(spots)}L{at(foot)}"
        (self.front if is_front else self.back).append(data)
        if size > 2.6 and is_front:
            self.ribs.append(f"M{at(foot)}L{at(moved(foot, way, size * 0.72))}")

    def rosette(self, seat: Seat) -> None:
        """The leaves of a spur, opening like a hand."""
        long = max(self.habit.shoot_mm / self.scale, 1.4) * (0.6 + 0.5 * grain(self.key, 200 + seat.index))
        middle = unit(
            seat.outward[0] + 0.35 * seat.along[0], seat.outward[1] + 0.35 * seat.along[1] - 0.15 * abs(seat.along[0])
        )
        tip = moved(seat.base, middle, long)
        self.shoots.append(f"M{at(seat.base)}L{at(tip)}")
        size = self.blade
        for index, spread in enumerate((-74.0, 66.0, -24.0, 26.0)):
            wobble = 22 * (grain(self.key, 400 + seat.index * 5 + index) - 0.5)
            scale = 0.8 + 0.4 * grain(self.key, 500 + seat.index * 5 + index)
            self.leaf(tip, turned(middle, spread + wobble), size * scale, is_front=index > 1)
        if self.options.with_fruit and grain(self.key, 600 + seat.index) < 0.42:
            radius = max(self.habit.fruit_mm / self.scale / 2, 0.8)
            self.fruit.append(((tip[0] + seat.outward[0] * 0.2, tip[1] + radius + 0.5), radius))

    def leafy_shoot(self, seat: Seat) -> None:
        """A one-year shoot with leaves in turn."""
        base, bend, tip = shoot_line(seat, self.habit, self.key, self.scale)
        self.shoots.append(f"M{at(base)}Q{at(bend)} {at(tip)}")
        self._leaves_along((base, bend, tip), seat, pairs=3)
        if self.options.with_fruit and grain(self.key, 600 + seat.index) < 0.4:
            radius = max(self.habit.fruit_mm / self.scale / 2, 0.8)
            spot = ((base[0] + tip[0]) / 2, (base[1] + tip[1]) / 2 + radius)
            self.fruit.append((spot, radius))

    def vine_shoot(self, seat: Seat) -> None:
        """The yearly shoot of a vine, rising from its spur, with a bunch near the base."""
        long = max(self.habit.shoot_mm / self.scale, 8.0) * (0.75 + 0.4 * grain(self.key, 200 + seat.index))
        lean = 0.45 * (grain(self.key, 210 + seat.index) - 0.5)
        if abs(seat.along[0]) > 0.5:
            if seat.outward[1] > 0:
                return
            way = unit(lean, -1.0)
        else:
            way = unit(seat.outward[0], seat.outward[1] - 0.55 + lean)
            long *= 0.62
        tip = moved(seat.base, way, long)
        bend = moved(moved(seat.base, seat.outward, long * 0.3), way, long * 0.3)
        self.shoots.append(f"M{at(seat.base)}Q{at(bend)} {at(tip)}")
        self._leaves_along((seat.base, bend, tip), seat, pairs=max(2, int(long / (self.blade * 0.85))))
        if self.options.with_fruit and grain(self.key, 600 + seat.index) < 0.8:
            radius = max(self.habit.fruit_mm / self.scale / 2, 1.3)
            self.fruit.append((moved(moved(seat.base, way, long * 0.22), (0.6, 1.0), radius * 0.9), radius))

    def tip_leaves(self, trace: Trace, begin: float, end: float) -> None:
        """Leaves in turn along the growth of this season."""
        step = max(self.blade * 0.62 * self.scale, 45.0)
        station, index = begin, 0
        while station <= end:
            way = trace.direction_at(station)
            side = 52 if index % 2 else -52
            self.leaf(trace.point_at(station), turned(way, side), self.blade * 0.85, is_front=index % 3 == 0)
            station += step
            index += 1
        self.leaf(trace.end, trace.direction_at(trace.stations[-1]), self.blade * 0.8, is_front=True)

    def paint(self, canvas: Canvas) -> None:
        """Shoots first, then leaves behind, then leaves in front with their midribs, then fruit."""
        ink = self.options.ink
        fine = WIDTH.leaf if not self.options.compact else WIDTH.leaf * 0.8
        if self.shoots:
            canvas.add(
                "path",
                d="".join(self.shoots),
                fill="none",
                stroke=ink.wood,
                stroke_width=0.45 if not self.options.compact else 0.35,
                stroke_linecap="round",
                class_="wood",
            )
        for leaves, fill in ((self.back, ink.leaf_fill_back), (self.front, ink.leaf_fill)):
            if not leaves:
                continue
            with canvas.group(fill=fill, stroke=ink.leaf, stroke_width=fine, stroke_linejoin="round", class_="leaf"):
                for data in leaves:
                    canvas.add("path", d=data)
        if self.ribs and not self.options.compact:
            canvas.add("path", d="".join(self.ribs), fill="none", stroke=ink.leaf, stroke_width=fine, class_="leaf")
        self._paint_fruit(canvas)

    def _leaves_along(self, curve: tuple[Point, Point, Point], seat: Seat, *, pairs: int) -> None:
        base, bend, tip = curve
        count = pairs * 2
        for index in range(count):
            t = 0.18 + 0.78 * index / count
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            spot = (a * base[0] + b * bend[0] + c * tip[0], a * base[1] + b * bend[1] + c * tip[1])
            way = unit(tip[0] - base[0], tip[1] - base[1])
            turn = (58 if index % 2 else -58) + 24 * (grain(self.key, 700 + seat.index * 9 + index) - 0.5)
            size = self.blade * (1.0 - 0.3 * t) * (0.9 + 0.2 * grain(self.key, 800 + seat.index * 9 + index))
            self.leaf(spot, turned(way, turn), size, is_front=index % 2 == seat.index % 2)
        self.leaf(tip, unit(tip[0] - bend[0], tip[1] - bend[1]), self.blade * 0.7, is_front=True)

    def _paint_fruit(self, canvas: Canvas) -> None:
        if not self.fruit:
            return
        ink = self.options.ink
        with canvas.group(fill=ink.fruit_fill, stroke=ink.fruit, stroke_width=0.35, class_="fruit"):
            for (x, y), radius in self.fruit:
                if self.habit.fruit == "bunch":
                    _paint_bunch(canvas, (x, y), radius)
                elif self.habit.fruit == "pear":
                    neck = f"M{at((x, y - radius * 1.5))}C{at((x + radius * 0.5, y - radius))} "
                    body = f"{at((x + radius * 1.3, y + radius))} {at((x, y + radius))}"
                    back = f"C{at((x - radius * 1.3, y + radius))} {at((x - radius * 0.5, y - radius))} "
                    canvas.add("path", d=f"{neck}{body}{back}{at((x, y - radius * 1.5))}Z")
                else:
                    canvas.add("circle", cx=x, cy=y, r=radius)


def _paint_bunch(canvas: Canvas, top: Point, radius: float) -> None:
    berry = radius * 0.42
    for row, count in enumerate((3, 2, 2, 1)):
        for index in range(count):
            x = top[0] + (index - (count - 1) / 2) * berry * 1.6 + (0.3 * berry if row == 2 else 0)
            canvas.add("circle", cx=number(x), cy=number(top[1] + row * berry * 1.35), r=number(berry))
