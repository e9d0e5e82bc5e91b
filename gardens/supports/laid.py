"""A support laid out: wires, posts, eyes, stays, places of the trees, and the dimensions to write on the drawing.

The plane is the elevation seen by the worker in front: x to the right from the left end, y up from the ground at the
left end, whole mm, true to scale. `gardens.drawing` turns it into a picture; nothing here knows about drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import dist
from typing import Literal

from gardens.supports.values import EndKind, SupportKind

SlopeWay = Literal["parallel", "stepped"]
BraceRole = Literal["stay", "rail", "diagonal", "strut", "anchor"]
PostRole = Literal["line", "end", "brace"]
Side = Literal["right", "below", "above", "left"]
Point = tuple[int, int]
"""x and y. [mm]"""


@dataclass(frozen=True, kw_only=True)
class LayoutWish:
    """What is wanted. Only kind, form, run and height must be given; the rest comes from the form and the trade.

    ``run_mm`` is measured along the ground, ``slope_percent`` rises to the right; ``way`` says whether wires follow
    the ground or step level from post to post. ``wire_heights_mm`` overrides first wire and spacing. ``own_posts``: on
    posts of its own, as rows are; give it for a fence that the wires must not touch. End posts are like the others unless
    their own size and depth are given.
    """

    kind: SupportKind
    form: str
    run_mm: int
    height_mm: int
    wire_heights_mm: tuple[int, ...] = ()
    first_wire_mm: int | None = None
    wire_spacing_mm: int | None = None
    hold_gap_mm: int | None = None
    tree_gap_mm: int | None = None
    trees: int | None = None
    gap_mm: int | None = None
    own_posts: bool | None = None
    post_size_mm: int = 100
    post_depth_mm: int = 750
    end_post_size_mm: int | None = None
    end_post_depth_mm: int | None = None
    end: EndKind = "tie_back"
    end_height_mm: int | None = None
    end_angle_deg: float = 60
    end_reach_mm: int | None = None
    slope_percent: float = 0
    way: SlopeWay = "parallel"
    faces_deg: float | None = None

    @property
    def has_posts(self) -> bool:
        """Whether it stands on posts of its own."""
        return self.kind == "post_and_wire" if self.own_posts is None else self.own_posts


@dataclass(frozen=True, kw_only=True)
class LaidWire:
    """A wire: its points from left to right (two where it is straight) and its height above the ground. [mm]"""

    number: int
    height_mm: int
    points: tuple[Point, ...]

    @property
    def length_mm(self) -> float:
        """Along the wire. [mm]"""
        return sum(dist(start, stop) for start, stop in pairwise(self.points))


@dataclass(frozen=True, kw_only=True)
class LaidPost:
    """A post, plumb: where it stands, ground, top and foot. [mm]"""

    role: PostRole
    x_mm: int
    ground_y_mm: int
    top_y_mm: int
    foot_y_mm: int
    size_mm: int

    @property
    def length_mm(self) -> int:
        """From foot to top. [mm]"""
        return self.top_y_mm - self.foot_y_mm


@dataclass(frozen=True, kw_only=True)
class LaidEye:
    """An eye or bracket on the face: which wire, at an end or in between. [mm]"""

    role: Literal["end", "middle"]
    wire: int
    x_mm: int
    y_mm: int


@dataclass(frozen=True, kw_only=True)
class LaidBrace:
    """A stay, rail, diagonal or strut from point to point. [mm]"""

    role: BraceRole
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int


@dataclass(frozen=True, kw_only=True)
class LaidTree:
    """Where a tree or vine is planted. [mm]"""

    number: int
    x_mm: int
    ground_y_mm: int
    run_left_mm: int
    run_right_mm: int


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A measure to write: between two points, on a side of the drawing, on a track (0 nearest to it). [mm]

    ``what`` says what is measured: "wire", "wire_gap", "hold_gap", "post_depth", "run", "height", "tree_gap", "anchor".
    """

    what: str
    x1_mm: int
    y1_mm: int
    x2_mm: int
    y2_mm: int
    length_mm: int
    side: Side
    track: int = 0


@dataclass(frozen=True, kw_only=True)
class SupportLayout:
    """A support to scale. ``ground`` is the line of the ground from left to right; all lists run left to right or from
    the lowest up. ``notes`` are for the person who builds it, ``sources`` say where the measures come from."""

    kind: SupportKind
    form: str
    run_mm: int
    height_mm: int
    gap_mm: int
    slope_percent: float
    ground: tuple[Point, ...]
    wires: tuple[LaidWire, ...]
    posts: tuple[LaidPost, ...] = ()
    eyes: tuple[LaidEye, ...] = ()
    braces: tuple[LaidBrace, ...] = ()
    trees: tuple[LaidTree, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    faces_deg: float | None = None
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def wire_heights_mm(self) -> tuple[int, ...]:
        """Heights above the ground, lowest first. [mm]"""
        return tuple(wire.height_mm for wire in self.wires)

    @property
    def bounds(self) -> tuple[int, int, int, int]:
        """Least x and y, greatest x and y of everything that is drawn. [mm]"""
        points = [*self.ground, *(point for wire in self.wires for point in wire.points)]
        points += [(post.x_mm, y) for post in self.posts for y in (post.foot_y_mm, post.top_y_mm)]
        points += [point for b in self.braces for point in ((b.x1_mm, b.y1_mm), (b.x2_mm, b.y2_mm))]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return min(xs), min(ys), max(xs), max(ys)
