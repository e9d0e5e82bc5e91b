"""Plane geometry on paper: boxes, directions, and traces (lines with a measure along them)."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import cos, hypot, pi, radians, sin
from zlib import crc32

from .canvas import Point


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle on paper [mm], y growing downward."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    def grown(self, by: float) -> Box:
        """The box with a margin (or, below zero, without one)."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def overlaps(self, other: Box) -> bool:
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def contains(self, other: Box) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )

    def nearest(self, point: Point) -> Point:
        """The point itself, or the nearest one inside."""
        x, y = point
        return (min(max(x, self.left), self.right), min(max(y, self.top), self.bottom))

    def holds(self, point: Point) -> bool:
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom


def box_of(points: list[Point]) -> Box:
    """The smallest box around points."""
    xs = [x for x, _ in points]
    ys = [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


STIR = 0x9E3779B1
"""The sums of neighbouring numbers differ in few places; multiplied by this (2³² ÷ the golden ratio) they scatter."""


def grain(key: str, index: int = 0) -> float:
    """A number in [0, 1) that depends on the key alone: the same limb always grows the same way."""
    return (crc32(_tail(index), _seed(key)) * STIR & 0xFFFFFFFF) / 0x100000000


@lru_cache(maxsize=4096)
def _seed(key: str) -> int:
    return crc32(key.encode())


@lru_cache(maxsize=4096)
def _tail(index: int) -> bytes:
    return f"|{index}".encode()


def unit(dx: float, dy: float) -> Point:
    """The direction of a step, of length 1 (upright on paper for no step at all)."""
    length = hypot(dx, dy)
    return (dx / length, dy / length) if length > 1e-9 else (0.0, -1.0)


def turned(direction: Point, degrees: float) -> Point:
    """A direction turned clockwise as seen on paper [°]."""
    angle = radians(degrees)
    x, y = direction
    return (x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle))


def moved(point: Point, direction: Point, by: float) -> Point:
    """The point a distance further in a direction."""
    return (point[0] + direction[0] * by, point[1] + direction[1] * by)


@dataclass(frozen=True, slots=True)
class Trace:
    """The centre line of a limb on paper, with the distance along the real limb at each point.

    ``points`` are paper millimetres, ``stations`` real millimetres from the limb's origin, rising.
    """

    points: tuple[Point, ...]
    stations: tuple[float, ...]

    @property
    def length(self) -> float:
        """The real length traced [mm]."""
        return self.stations[-1] - self.stations[0]

    @property
    def start(self) -> Point:
        return self.points[0]

    @property
    def end(self) -> Point:
        return self.points[-1]

    def paper_length(self) -> float:
        """The length as drawn [mm]."""
        pairs = pairwise(self.points)
        return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairs)

    def point_at(self, station: float) -> Point:
        """The point at a real distance from the origin; beyond the ends, the end."""
        index, part = self._piece(station)
        (ax, ay), (bx, by) = self.points[index], self.points[index + 1]
        return (ax + (bx - ax) * part, ay + (by - ay) * part)

    def direction_at(self, station: float) -> Point:
        """The direction of growth at a real distance from the origin, of length 1."""
        index, _ = self._piece(station)
        (ax, ay), (bx, by) = self.points[index], self.points[index + 1]
        return unit(bx - ax, by - ay)

    def place_at(self, station: float) -> tuple[Point, Point]:
        """The point and the direction of growth at a real distance from the origin."""
        index, part = self._piece(station)
        (ax, ay), (bx, by) = self.points[index], self.points[index + 1]
        return (ax + (bx - ax) * part, ay + (by - ay) * part), unit(bx - ax, by - ay)

    def heading_at(self, station: float, reach: float) -> Point:
        """The direction over a stretch to both sides of a real distance [mm], free of the sway of the wood."""
        (ax, ay), (bx, by) = self.point_at(station - reach), self.point_at(station + reach)
        return unit(bx - ax, by - ay)

    def between(self, begin: float, end: float) -> Trace | None:
        """The part from one real distance to another, or None where nothing of it is left."""
        begin, end = max(begin, self.stations[0]), min(end, self.stations[-1])
        if end - begin < 1e-6:
            return None
        inner = [(p, s) for p, s in zip(self.points, self.stations, strict=True) if begin < s < end]
        points = (self.point_at(begin), *(p for p, _ in inner), self.point_at(end))
        return Trace(points, (begin, *(s for _, s in inner), end))

    def _piece(self, station: float) -> tuple[int, float]:
        index = min(max(bisect_right(self.stations, station) - 1, 0), len(self.stations) - 2)
        span = self.stations[index + 1] - self.stations[index]
        part = (station - self.stations[index]) / span if span > 0 else 0.0
        return index, min(max(part, 0.0), 1.0)


def swaying(trace: Trace, key: str, amount: float) -> Trace:
    """The trace with the slight sway of grown wood, at most ``amount`` paper millimetres off its line.

    The sway depends on the key alone; it dies out towards the origin so that joints stay where they are.
    """
    first, second = grain(key, 1) * 2 * pi, grain(key, 2) * 2 * pi
    drawn = 0.0
    points = [trace.points[0]]
    for index in range(1, len(trace.points)):
        (ax, ay), (bx, by) = trace.points[index - 1], trace.points[index]
        drawn += hypot(bx - ax, by - ay)
        tx, ty = unit(bx - ax, by - ay)
        off = amount * min(1.0, drawn / 12) * (0.65 * sin(drawn / 4.6 + first) + 0.35 * sin(drawn / 1.9 + second))
        points.append((bx - ty * off, by + tx * off))
    return Trace(tuple(points), trace.stations)
