"""Where every part of a support lies, from a wish and the heights of its wires."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan, cos, radians, sin, tan

from gardens.supports.laid import (
    BraceRole,
    Dimension,
    LaidBrace,
    LaidEye,
    LaidPost,
    LaidTree,
    LaidWire,
    LayoutWish,
    Point,
    PostRole,
    Side,
)

TOP_MARGIN_MM = 50


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A wish with its wire heights and number of spans; every method gives one kind of part, left to right."""

    wish: LayoutWish
    heights: tuple[int, ...]
    spans: int

    @property
    def has_posts(self) -> bool:
        return self.wish.has_posts

    @property
    def holds(self) -> list[float]:
        """Distances of the holds along the ground."""
        return [self.wish.run_mm * number / self.spans for number in range(self.spans + 1)]

    def at(self, along_mm: float, above_mm: float = 0) -> Point:
        """The point so far along the ground and so far above it, plumb."""
        slope = atan(self.wish.slope_percent / 100)
        return round(along_mm * cos(slope)), round(along_mm * sin(slope) + above_mm)

    def ground(self) -> tuple[Point, ...]:
        beyond = self._end_reach() + 400 if self.has_posts else 200
        return self.at(-beyond), self.at(self.wish.run_mm + beyond)

    def wires(self) -> tuple[LaidWire, ...]:
        return tuple(
            LaidWire(number=number, height_mm=height, points=self._points(height))
            for number, height in enumerate(self.heights, start=1)
        )

    def _points(self, height_mm: int) -> tuple[Point, ...]:
        if self.wish.way == "parallel" or not self.wish.slope_percent:
            return self.at(0, height_mm), self.at(self.wish.run_mm, height_mm)
        points: list[Point] = []
        for left, right in pairwise(self.holds):
            (x1, y1), (x2, y2) = self.at(left), self.at(right)
            level = max(y1, y2) + height_mm
            points += [(x1, level), (x2, level)]
        return tuple(points)

    def posts(self) -> tuple[LaidPost, ...]:
        if not self.has_posts:
            return ()
        along: list[tuple[float, PostRole]] = [
            (hold, "end" if hold in (0, self.wish.run_mm) else "line") for hold in self.holds
        ]
        if self.wish.end == "h_brace":
            reach = self._end_reach()
            along += [(reach, "brace"), (self.wish.run_mm - reach, "brace")]
        return tuple(self._post(hold, role) for hold, role in sorted(along))

    def _post(self, along_mm: float, role: PostRole) -> LaidPost:
        x, ground = self.at(along_mm)
        return LaidPost(
            role=role,
            x_mm=x,
            ground_y_mm=ground,
            top_y_mm=ground + self.wish.height_mm + self.step_rise(),
            foot_y_mm=ground - self._depth(role),
            size_mm=self.wish.post_size_mm if role == "line" else self.wish.end_post_size_mm or self.wish.post_size_mm,
        )

    def _depth(self, role: PostRole) -> int:
        return self.wish.post_depth_mm if role == "line" else self.wish.end_post_depth_mm or self.wish.post_depth_mm

    def step_rise(self) -> int:
        """What a post must be higher for level bays on a slope."""
        if self.wish.way != "stepped":
            return 0
        slope = atan(self.wish.slope_percent / 100)
        return round(abs(sin(slope)) * self.wish.run_mm / self.spans)

    def eyes(self) -> tuple[LaidEye, ...]:
        if self.has_posts:
            return ()
        return tuple(
            LaidEye(role="end" if hold in (0, self.wish.run_mm) else "middle", wire=number, x_mm=x, y_mm=y)
            for number, height in enumerate(self.heights, start=1)
            for hold in self.holds
            for x, y in (self.at(hold, height),)
        )

    def braces(self) -> tuple[LaidBrace, ...]:
        if not self.has_posts or self.wish.end == "bare":
            return ()
        return (*self._brace(0, -1), *self._brace(self.wish.run_mm, 1))

    def _brace(self, at_mm: float, outward: int) -> tuple[LaidBrace, ...]:
        high, reach = self._end_height(), self._end_reach()
        top = self.at(at_mm, high)
        if self.wish.end == "tie_back":
            foot = self.at(at_mm + outward * reach)
            deep = (foot[0] + outward * round(0.3 * reach), foot[1] - round(0.3 * high))
            return _brace("stay", top, foot), _brace("anchor", foot, deep)
        inner_top, inner_foot = self.at(at_mm - outward * reach, high), self.at(at_mm - outward * reach)
        if self.wish.end == "strut":
            return (_brace("strut", top, inner_foot),)
        return _brace("rail", top, inner_top), _brace("diagonal", self.at(at_mm), inner_top)

    def _end_height(self) -> int:
        return self.wish.end_height_mm or min(self.heights[-1], self.wish.height_mm - TOP_MARGIN_MM)

    def _end_reach(self) -> int:
        if self.wish.end == "bare":
            return 0
        if self.wish.end == "tie_back":
            return round(self._end_height() / tan(radians(self.wish.end_angle_deg)))
        return self.wish.end_reach_mm or (2 if self.wish.end == "h_brace" else 1) * self._end_height()

    def trees(self, count: int) -> tuple[LaidTree, ...]:
        """Places evenly along the run, half a gap from the ends."""
        if not count:
            return ()
        gap = self.wish.run_mm / count
        places = [gap * (number + 0.5) for number in range(count)]
        return tuple(
            LaidTree(
                number=number,
                x_mm=self.at(place)[0],
                ground_y_mm=self.at(place)[1],
                run_left_mm=round(gap / 2),
                run_right_mm=round(gap / 2),
            )
            for number, place in enumerate(places, start=1)
        )

    def dimensions(self, trees: Sequence[LaidTree]) -> tuple[Dimension, ...]:
        left, right = self.at(0), self.at(self.wish.run_mm)
        found = [
            _measure("run", (left, right), self.wish.run_mm, ("below", 1)),
            _measure("height", (left, self.at(0, self.wish.height_mm)), self.wish.height_mm, ("left", 1)),
        ]
        found += [
            _measure("wire", (right, self.at(self.wish.run_mm, height)), height, ("right", 1))
            for height in self.heights
        ]
        found += [
            _measure(
                "wire_gap",
                (self.at(self.wish.run_mm, low), self.at(self.wish.run_mm, high)),
                high - low,
                ("right", 0),
            )
            for low, high in pairwise((0, *self.heights))
        ]
        found += [
            _measure("hold_gap", (self.at(a), self.at(b)), round(b - a), ("above", 0)) for a, b in pairwise(self.holds)
        ]
        found += [
            _measure(
                "tree_gap",
                ((a.x_mm, a.ground_y_mm), (b.x_mm, b.ground_y_mm)),
                a.run_right_mm + b.run_left_mm,
                ("below", 0),
            )
            for a, b in pairwise(trees)
        ]
        if self.has_posts:
            depth = self._depth("end")
            found.append(_measure("post_depth", (left, self.at(0, -depth)), depth, ("left", 0)))
            if self.wish.end == "tie_back":
                reach = self._end_reach()
                found.append(_measure("anchor", (self.at(-reach), left), reach, ("below", 0)))
        return tuple(found)


def _brace(role: BraceRole, start: Point, stop: Point) -> LaidBrace:
    return LaidBrace(role=role, x1_mm=start[0], y1_mm=start[1], x2_mm=stop[0], y2_mm=stop[1])


def _measure(
    what: str,
    between: tuple[Point, Point],
    length_mm: int,
    place: tuple[Side, int],
) -> Dimension:
    (x1, y1), (x2, y2) = between
    return Dimension(
        what=what, x1_mm=x1, y1_mm=y1, x2_mm=x2, y2_mm=y2, length_mm=length_mm, side=place[0], track=place[1]
    )
