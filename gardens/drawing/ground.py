"""What marks are set on, and the marks that belong to no limb: on a wire, at a post, at the foot of a tree."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import hypot

from .canvas import Canvas, Point, at, polyline_path
from .figure import DASH_OFF
from .frame import Frame
from .geometry import Box, moved
from .marks import Mark
from .style import HALO, Options, Width
from .support import SupportPicture
from .symbols import Symbol, symbol_of

CLEAR = 0.8
"""White between two marks [mm]."""

WIDTH = Width()


@dataclass(frozen=True, slots=True)
class Site:
    """One place for one mark. ``shoot`` is a piece of side wood to be drawn for it (base, tip); ``sweep`` the way a
    limb is brought (points of an arc)."""

    mark: Mark
    symbol: Symbol
    point: Point
    way: Point
    shoot: tuple[Point, Point] | None = None
    sweep: tuple[Point, ...] = ()


@dataclass
class Ground:
    """The support, the window on it and the marks already set. ``zero_mm`` is the place of x = 0 along the support."""

    support: SupportPicture
    frame: Frame
    zero_mm: int = 0
    sites: list[Site] = field(default_factory=list)

    def is_free(self, point: Point, radius: float) -> bool:
        """Whether a mark of this radius would lie clear of all others."""
        return all(
            hypot(point[0] - site.point[0], point[1] - site.point[1]) > radius + site.symbol.radius + CLEAR
            for site in self.sites
        )

    def first_free(self, mark: Mark, symbol: Symbol, spots: list[Point]) -> Site:
        """The mark at the first spot that is clear of others; at the first of all where none is."""
        free = (spot for spot in spots if self.is_free(spot, symbol.radius) and self.frame.window.holds(spot))
        return Site(mark, symbol, next(free, spots[0]), (1.0, 0.0))

    def set(self, sites: Iterable[Site]) -> None:
        """Take in the places that lie within the window, all their ink drawn onto the sheet."""
        for site in sites:
            if self.frame.window.grown(2).holds(site.point):
                self.sites.append(_drawn_in(site, self.frame.sheet))


def in_order(marks: Iterable[Mark]) -> list[Mark]:
    """Marks that say where keep their place, so they are set first."""
    return sorted(marks, key=lambda mark: (mark.at_mm is None, mark.number))


def set_support_marks(marks: Iterable[Mark], ground: Ground) -> list[Site]:
    """Marks for the support itself: wires and posts where they are, everything else along its foot."""
    for mark in in_order(marks):
        symbol = symbol_of(mark.kind)
        if symbol.place == "wire" or mark.limb.startswith("wire:"):
            ground.set([on_wire(mark, symbol, ground)])
        elif symbol.place == "post" or mark.limb.startswith("post:"):
            ground.set([at_post(mark, symbol, ground)])
        else:
            window = ground.frame.window
            y = ground.frame.view.place(0, 0)[1] - 3.4
            spots = [(window.left + share * window.width, y) for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)]
            ground.set([ground.first_free(mark, symbol, spots)])
    return ground.sites


def on_wire(mark: Mark, symbol: Symbol, ground: Ground) -> Site:
    """On the wire the mark names ("wire:2", from below), else on the top one."""
    heights = ground.support.wire_heights_mm or (ground.support.height_mm // 2,)
    y = ground.frame.view.place(0, heights[_numbered(mark, len(heights), len(heights) - 1)])[1]
    left, right = ground.frame.window.left, ground.frame.window.right
    zero = ground.frame.view.place(-ground.zero_mm, 0)[0]
    left, right = max(left, zero), min(right, zero + ground.frame.view.paper(ground.support.run_mm))
    spots = [(left + share * (right - left), y) for share in (0.18, 0.82, 0.3, 0.7, 0.1, 0.9)]
    return ground.first_free(mark, symbol, spots)


def at_post(mark: Mark, symbol: Symbol, ground: Ground) -> Site:
    """At the post the mark names ("post:2", from the left), else at the first one in the window."""
    view, window = ground.frame.view, ground.frame.window
    posts = ground.support.posts()
    xs = [view.place(place - ground.zero_mm, 0)[0] for place in posts]
    seen = next((index for index, x in enumerate(xs) if window.left <= x <= window.right), 0)
    index = _numbered(mark, len(posts), seen)
    side = 4.6 if xs[index] + 8 < window.right else -4.6
    x = min(max(xs[index] + side, window.left), window.right)
    y = view.place(0, ground.support.height_mm * 0.6)[1]
    return ground.first_free(mark, symbol, [(x, max(y + step, window.top + 4)) for step in (0, 8, -8, 16, -16)])


def draw_site_wood(canvas: Canvas, site: Site, options: Options) -> None:
    """The shoot a mark speaks of, or the arc along which a limb is brought."""
    ink = options.ink
    if site.sweep:
        for colour, width in ((ink.paper, WIDTH.post + 2 * HALO), (ink.tie, WIDTH.post)):
            canvas.add("path", d=polyline_path(site.sweep), fill="none", stroke=colour, stroke_width=width)
    if site.shoot is None:
        return
    base, tip = site.shoot
    start = base
    if site.symbol.name == "open hook":
        canvas.add("path", d=f"M{at(base)}L{at(site.point)}", fill="none", stroke=ink.wood, stroke_width=WIDTH.spur,
                   class_="wood")  # fmt: skip
        start = moved(site.point, site.way, 1.2)
    canvas.add("path", d=f"M{at(start)}L{at(tip)}", fill="none", stroke=ink.off, stroke_width=WIDTH.off,
               stroke_dasharray=DASH_OFF, class_="off")  # fmt: skip


def _numbered(mark: Mark, count: int, otherwise: int) -> int:
    place = mark.limb.partition(":")[2]
    is_known = place.isascii() and place.isdigit() and 0 < int(place) <= count
    return int(place) - 1 if is_known and mark.limb.startswith(("wire:", "post:")) else otherwise


def _drawn_in(site: Site, sheet: Box) -> Site:
    inner = sheet.grown(-0.6)
    return replace(
        site,
        point=sheet.grown(-site.symbol.radius - HALO - 0.1).nearest(site.point),
        shoot=(inner.nearest(site.shoot[0]), inner.nearest(site.shoot[1])) if site.shoot else None,
        sweep=tuple(inner.nearest(point) for point in site.sweep),
    )
