"""Where side wood sits on a tree: spurs, shoots, the two-bud spurs and yearly shoots of a vine.

Side wood is placed for the whole tree at once: a piece that would run into another limb or another piece is
shortened, or left out, as a gardener would have it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

from gardens.training.state import Limb

from .canvas import Point
from .geometry import Box, Trace, grain, moved, unit
from .habits import Habit
from .style import Season

YOUNG_WOOD_MM = 420
"""Last season's growth where nobody measured it."""

SPUR_AT_MM = 70.0
LEAST_PIECE = 0.9
"""Side wood shorter than this on paper would be a speck [mm]."""

_CELL = 1.3


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of side wood: base, bend and tip on paper; the limb's direction and the way outward at its base.

    ``share`` is its place along the limb (0 base, 1 end of the old wood).
    """

    index: int
    base: Point
    bend: Point
    tip: Point
    outward: Point
    along: Point
    share: float

    @property
    def way(self) -> Point:
        """The direction from base to tip."""
        return unit(self.tip[0] - self.base[0], self.tip[1] - self.base[1])

    @property
    def length(self) -> float:
        """From base to tip [mm of paper]."""
        return float(((self.tip[0] - self.base[0]) ** 2 + (self.tip[1] - self.base[1]) ** 2) ** 0.5)

    @property
    def is_upper(self) -> bool:
        return self.outward[1] < -0.2

    def on_curve(self, t: float) -> Point:
        """A point on the way from base (0) to tip (1)."""
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        return (
            a * self.base[0] + b * self.bend[0] + c * self.tip[0],
            a * self.base[1] + b * self.bend[1] + c * self.tip[1],
        )


@dataclass
class Thicket:
    """A coarse map of what is taken on the paper; nothing grows beyond its bounds."""

    bounds: Box
    taken: dict[tuple[int, int], str] = field(default_factory=dict)

    def fill(self, points: Iterable[Point], owner: str = "") -> None:
        """Take the cells of these points; the first owner keeps a cell."""
        taken = self.taken
        for x, y in points:
            taken.setdefault((int(x / _CELL), int(y / _CELL)), owner)

    def fill_trace(self, trace: Trace, owner: str) -> None:
        """Take every cell a limb passes."""
        taken = self.taken
        for (ax, ay), (bx, by) in pairwise(trace.points):
            pieces = int(max(abs(bx - ax), abs(by - ay)) / _CELL) + 1
            x, y, dx, dy = ax / _CELL, ay / _CELL, (bx - ax) / pieces / _CELL, (by - ay) / pieces / _CELL
            for _ in range(pieces + 1):
                taken.setdefault((int(x), int(y)), owner)
                x += dx
                y += dy

    def is_free(self, points: Iterable[Point], owner: str) -> bool:
        """Whether nobody but the owner has been at these points, and all lie within bounds."""
        bounds, taken = self.bounds, self.taken
        for x, y in points:
            if not (bounds.left <= x <= bounds.right and bounds.top <= y <= bounds.bottom):
                return False
            if taken.get((int(x / _CELL), int(y / _CELL)), owner) != owner:
                return False
        return True


@dataclass(frozen=True, slots=True)
class OldWood:
    """The stretch of a limb that carries side wood [mm along the limb]; empty where ``end`` is not above ``begin``."""

    begin: float
    end: float


def old_wood(limb: Limb, form: str, end: float) -> OldWood:
    """Not the very base of a limb, not the growth of the season just gone, nothing on a limb in its first year."""
    is_stem_form = form.endswith("cordon") or (limb.parent == "" and limb.kind == "rod")
    young = float(limb.grown_mm or min(YOUNG_WOOD_MM, limb.length_mm * 0.45))
    if limb.kind in ("trunk", "leader") and not is_stem_form:
        return OldWood(0.0, 0.0)
    if limb.kind == "cane" or (limb.status in ("chosen", "tied") and limb.grown_mm >= 0.8 * limb.length_mm > 0):
        return OldWood(0.0, 0.0)
    if limb.status in ("chosen", "tied") and not limb.grown_mm:
        return OldWood(0.0, 0.0)
    return OldWood(300.0 if is_stem_form else 110.0, min(end, limb.length_mm - young))


def place_pieces(trace: Trace, habit: Habit, stretch: OldWood, thicket: Thicket, what: Twigs) -> list[Piece]:
    """Side wood along a stretch of one limb, sides in turn."""
    pieces: list[Piece] = []
    step = max(habit.spacing_mm, what.scale * 2.7)
    station, index = stretch.begin + step * (0.2 + 0.4 * grain(what.key, 7)), 0
    while station < stretch.end:
        piece = _piece(trace, station, index, what, station / max(stretch.end, 1.0))
        if piece is not None:
            fitted = _fitted(piece, thicket, what.key)
            if fitted is not None:
                thicket.fill(fitted.on_curve(t) for t in (0.5, 0.75, 1.0))
                pieces.append(fitted)
        station += step * (0.75 + 0.5 * grain(what.key, 100 + index))
        index += 1
    return pieces


def replacement_spur(trace: Trace, what: Twigs) -> Piece:
    """The two-bud spur beside the foot of a yearly cane: next year's canes come from it."""
    base, along = trace.place_at(SPUR_AT_MM)
    return _vine_piece(base, along, (0.0, -1.0), (0, 0.0), what)


@dataclass(frozen=True, slots=True)
class Twigs:
    """What the side wood of one limb looks like: whose it is, in which season, at which scale."""

    key: str
    habit: Habit
    season: Season
    scale: float


def _piece(trace: Trace, station: float, index: int, what: Twigs, share: float) -> Piece | None:
    base, along = trace.place_at(station)
    outward = _outward(along, index)
    kind = what.habit.side_wood
    if kind == "vine":
        if abs(along[0]) > 0.5 and outward[1] > 0:
            outward = (-outward[0], -outward[1])
        return _vine_piece(base, along, outward, (index, share), what)
    luck = grain(what.key, 200 + index)
    if kind == "shoots":
        long = max(what.habit.shoot_mm / what.scale, 3.2) * (0.7 + 0.5 * luck)
        way = unit(outward[0] + 0.9 * along[0], outward[1] + 0.9 * along[1] - 0.35 * abs(along[0]))
        bend = moved(moved(base, outward, long * 0.28), along, long * 0.2)
    else:
        long = max(what.habit.shoot_mm / what.scale, 1.9) * (0.7 + 0.5 * luck)
        long *= 1.0 if outward[1] < -0.2 or abs(outward[1]) < 0.5 else 0.85
        way = unit(outward[0] + 0.45 * along[0], outward[1] + 0.45 * along[1] - 0.3 * abs(along[0]))
        bend = moved(moved(base, outward, long * 0.6), along, -0.08 * long)
    return Piece(index, base, bend, moved(base, way, long), outward, along, share)


def _vine_piece(base: Point, along: Point, outward: Point, place: tuple[int, float], what: Twigs) -> Piece:
    index, share = place
    luck = grain(what.key, 200 + index)
    if what.season == "dormant":
        long = max(95 / what.scale, 2.1) * (0.85 + 0.3 * luck)
        way = unit(outward[0] * 0.8, outward[1] - 0.5)
        return Piece(index, base, moved(base, outward, long * 0.35), moved(base, way, long), outward, along, share)
    long = max(what.habit.shoot_mm / what.scale, 8.0) * (0.75 + 0.4 * luck)
    lean = 0.3 * (grain(what.key, 210 + index) - 0.5)
    if abs(along[0]) > 0.5:
        way = unit(lean, -1.0)
    else:
        way = unit(outward[0], outward[1] - 0.7 + lean)
        long *= 0.62
    bend = moved(moved(base, outward, long * 0.25), way, long * 0.3)
    return Piece(index, base, bend, moved(base, way, long), outward, along, share)


def _outward(along: Point, index: int) -> Point:
    """The side of the limb a piece grows on: upper and lower in turn, left and right on an upright."""
    normal = (along[1], -along[0])
    if abs(along[0]) > 0.25:
        wants_upper = index % 2 == 0
        return normal if (normal[1] < 0) == wants_upper else (-normal[0], -normal[1])
    return normal if index % 2 == 0 else (-normal[0], -normal[1])


def _fitted(piece: Piece, thicket: Thicket, owner: str) -> Piece | None:
    """The piece at full, at two thirds or at less than half its length; None where even that runs into something."""
    way, whole = piece.way, piece.length
    for share in (1.0, 0.68, 0.45):
        long = whole * share
        tip = moved(piece.base, way, long)
        probes = [tip, moved(piece.base, way, long + 0.9)]
        if long >= 3.0:
            probes.append(moved(piece.base, way, long * 0.7))
        if thicket.is_free(probes, owner):
            if long <= LEAST_PIECE:
                return None
            return piece if share == 1.0 else replace(piece, bend=_between(piece.base, piece.bend, share), tip=tip)
    return None


def _between(base: Point, bend: Point, share: float) -> Point:
    return (base[0] + (bend[0] - base[0]) * share, base[1] + (bend[1] - base[1]) * share)
