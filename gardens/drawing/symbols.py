"""The shapes of marks, as data: each kind of work has an outline of its own, so that none rests on colour.

Local coordinates in millimetres of paper: the origin on the limb, x along its growth, y across it (clockwise from x).
A shape is painted twice: first in white and broader, so that it stands free of the wood, then in its ink.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from .canvas import Canvas, Point, at, number, polyline_path
from .geometry import Box
from .style import HALO, Ink

Tone = Literal["wood", "off", "tie"]


@dataclass(frozen=True, slots=True)
class Line:
    """Straight pieces, or a closed figure; ``fill`` "ink" is solid, "paper" white, None open."""

    points: tuple[Point, ...]
    width: float = 0.7
    is_closed: bool = False
    fill: Literal["ink", "paper"] | None = None
    dash: str | None = None


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle around a centre."""

    radius: float
    width: float = 0.5
    centre: Point = (0.0, 0.0)
    fill: Literal["ink", "paper"] | None = "paper"
    dash: str | None = None


@dataclass(frozen=True, slots=True)
class Half:
    """The solid half of a ring, on the side where the limb comes from."""

    radius: float


@dataclass(frozen=True, slots=True)
class Sign:
    """A letter in bold, upright whatever the limb does."""

    text: str
    size: float = 3.2


Part = Line | Ring | Half | Sign


@dataclass(frozen=True)
class Symbol:
    """A mark's shape, its words in the legend, its tone.

    ``turns`` tells whether it turns with the limb (a cut does, a drop of water does not). ``place`` is where it sits:
    on the limb itself, on a piece of side wood, at the limb's tip, at the foot of the tree, above it, on a wire, at a
    post.
    """

    name: str
    words: str
    tone: Tone
    parts: tuple[Part, ...]
    turns: bool = True
    place: Literal["limb", "side_wood", "tip", "foot", "above", "wire", "post"] = "limb"

    @cached_property
    def radius(self) -> float:
        """The distance from the origin to the furthest ink [mm]."""
        far = 0.0
        for part in self.parts:
            if isinstance(part, Line):
                far = max(far, *((x * x + y * y) ** 0.5 + part.width / 2 for x, y in part.points))
            elif isinstance(part, Ring):
                far = max(far, (part.centre[0] ** 2 + part.centre[1] ** 2) ** 0.5 + part.radius + part.width / 2)
            elif isinstance(part, Half):
                far = max(far, part.radius)
        return far


CROSS = (Line(((-1.9, -1.9), (1.9, 1.9)), 0.8), Line(((-1.9, 1.9), (1.9, -1.9)), 0.8))
BAR_AND_WEDGE = (
    Line(((0.0, -3.2), (0.0, 3.2)), 0.9),
    Line(((0.75, 0.0), (3.75, -1.2), (3.75, 1.2)), 0.3, is_closed=True, fill="ink"),
)
HOOK = (Line(((-1.4, -2.0), (0.6, 0.0), (-1.4, 2.0)), 0.7),)
TRIANGLE = (
    Line(((-2.1, 1.6), (2.1, 1.6), (0.0, -2.1)), 0.5, is_closed=True, fill="paper"),
    Line(((-2.9, -0.9), (2.9, 1.0)), 0.7),
)
ARROW_HEAD = (Line(((3.2, 0.0), (0.0, -1.6), (0.0, 1.6)), 0.3, is_closed=True, fill="ink"),)
NEW_TIE = (Ring(1.9), Ring(0.8, 0.3, fill="ink"))
TIE_AGAIN = (Ring(1.9), Half(1.9))
TIE_OFF = (Ring(1.9), Line(((-2.8, 2.8), (2.8, -2.8)), 0.7))
GOOD_TIE = (Ring(1.1, 0.35),)
BROKEN_RING = (Ring(1.9, 0.5, dash="1.3 0.9"), Sign("?"))
DIAMOND = (Line(((0.0, -3.0), (3.0, 0.0), (0.0, 3.0), (-3.0, 0.0)), 0.5, is_closed=True, fill="paper"), Sign("!"))
BRACKET = (Line(((-5.0, 1.6), (-5.0, 0.0), (5.0, 0.0), (5.0, 1.6)), 0.4),)
BRACKET_AND_BALLS = (
    Line(((-5.0, 1.6), (-5.0, 0.0), (5.0, 0.0), (5.0, 1.6)), 0.4),
    Ring(0.9, 0.4, (-2.6, 2.1)),
    Ring(0.9, 0.4, (0.0, 2.1)),
    Ring(0.9, 0.4, (2.6, 2.1)),
)
BENT_ARROW = (Line(((-1.3, -1.3), (0.0, 1.3), (1.3, -1.3)), 0.3, is_closed=True, fill="ink"),)
CROSS_TO_ARROW = (
    Line(((-3.6, -1.4), (-0.8, 1.4)), 0.8),
    Line(((-3.6, 1.4), (-0.8, -1.4)), 0.8),
    Line(((3.9, 0.0), (1.0, -1.5), (1.0, 1.5)), 0.3, is_closed=True, fill="ink"),
)
WALL_AND_CROSS = (
    Line(((-3.0, -3.0), (3.0, -3.0)), 0.5),
    Line(((-3.0, -1.7), (3.0, -1.7)), 0.5),
    Line(((-1.5, -0.5), (1.5, 2.5)), 0.8),
    Line(((-1.5, 2.5), (1.5, -0.5)), 0.8),
)
BROKEN_TWIG = (
    Ring(2.7, 0.5),
    Line(((-2.7, 0.9), (-0.7, -0.6), (0.3, 0.8), (2.7, -0.9)), 0.7),
)
SPROUT = (
    Line(((-2.8, 2.4), (2.8, 2.4)), 0.5),
    Line(((0.0, 2.4), (0.0, -2.2)), 0.7),
    Line(((0.0, 0.2), (-2.0, -1.6), (-0.4, -1.4)), 0.4, is_closed=True, fill="ink"),
    Line(((0.0, -0.6), (2.0, -2.4), (0.4, -2.2)), 0.4, is_closed=True, fill="ink"),
)
DROP = (
    Line(
        ((0.0, -3.0), (1.1, -1.1), (1.9, 0.5), (1.6, 1.9), (0.6, 2.6), (-0.6, 2.6), (-1.6, 1.9), (-1.9, 0.5), (-1.1, -1.1)),
        0.5,
        is_closed=True,
        fill="paper",
    ),
)  # fmt: skip
MOUND = (
    Line(((-3.4, 1.6), (-2.2, -0.5), (0.0, -1.4), (2.2, -0.5), (3.4, 1.6)), 0.5, is_closed=True, fill="paper"),
    Line(((-1.4, 0.6), (-0.6, 0.6)), 0.5),
    Line(((0.6, 0.6), (1.4, 0.6)), 0.5),
    Line(((-0.4, -0.5), (0.4, -0.5)), 0.5),
)
STAR = (
    Line(((0.0, -2.6), (0.0, 2.6)), 0.5),
    Line(((-2.25, -1.3), (2.25, 1.3)), 0.5),
    Line(((-2.25, 1.3), (2.25, -1.3)), 0.5),
)
BASKET = (
    Line(((-2.8, -0.2), (2.8, -0.2), (1.9, 2.6), (-1.9, 2.6)), 0.5, is_closed=True, fill="paper"),
    Line(((-2.2, -0.2), (-1.6, -2.2), (0.0, -2.9), (1.6, -2.2), (2.2, -0.2)), 0.5),
)
TURNBUCKLE = (
    Line(((-4.0, 0.0), (-1.2, -1.5), (-1.2, 1.5)), 0.3, is_closed=True, fill="ink"),
    Line(((4.0, 0.0), (1.2, -1.5), (1.2, 1.5)), 0.3, is_closed=True, fill="ink"),
    Line(((-1.2, 0.0), (1.2, 0.0)), 0.7),
)
PLUMB_POST = (
    Line(((1.2, 3.0), (-2.9, -2.2)), 0.7, dash="1.2 0.9"),
    Line(((1.2, 3.0), (1.2, -3.0)), 1.0),
    Line(((0.5, -2.0), (-1.1, -2.9), (-1.1, -1.1)), 0.3, is_closed=True, fill="ink"),
)
POSTS_AND_WIRES = (
    Line(((-2.8, 2.8), (-2.8, -2.8)), 0.9),
    Line(((2.8, 2.8), (2.8, -2.8)), 0.9),
    Line(((-2.8, -1.6), (2.8, -1.6)), 0.5),
    Line(((-2.8, 0.4), (2.8, 0.4)), 0.5),
)
TREE_AGAIN = (
    Ring(2.9, 0.5, dash="1.3 0.9"),
    Line(((0.0, 2.1), (0.0, 0.2), (-1.5, -1.6)), 0.7),
    Line(((0.0, 0.2), (1.5, -1.6)), 0.7),
)

_SYMBOLS: tuple[tuple[tuple[str, ...], Symbol], ...] = (
    (("winter_prune", "remove_low_shoots"), Symbol("cross", "Take off whole, at its base", "off", CROSS,
                                                   place="side_wood")),
    (("head_back", "shorten_arms"), Symbol("bar and wedge", "Shorten here", "off", BAR_AND_WEDGE)),
    (("pinch", "summer_prune"), Symbol("open hook", "Pinch or shorten the young shoot", "off", HOOK,
                                       place="side_wood")),
    (("rub_out",), Symbol("struck triangle", "Rub out bud or young shoot", "off", TRIANGLE, turns=False)),
    (("select_shoots",), Symbol("arrow head", "Chosen: let it grow on", "wood", ARROW_HEAD, place="tip")),
    (("tie_in",), Symbol("ring with dot", "Tie here (new)", "tie", NEW_TIE)),
    (("renew_ties",), Symbol("half-filled ring", "Cut and tie again, looser", "tie", TIE_AGAIN)),
    (("remove_ties",), Symbol("struck ring", "Old tie: take it off", "tie", TIE_OFF, turns=False)),
    (("good_tie",), Symbol("small ring", "Tie is right, leave it", "tie", GOOD_TIE)),
    (("lower_arms",), Symbol("bent arrow", "Bring to the dotted bar", "tie", BENT_ARROW)),
    (("replace", "graft"), Symbol("broken ring", "Lost or missing limb", "wood", BROKEN_RING, turns=False)),
    (("inspect",), Symbol("diamond", "Look here", "wood", DIAMOND, turns=False)),
    (("thin_spurs",), Symbol("bracket", "Thin spurs", "off", BRACKET)),
    (("thin_fruit",), Symbol("bracket and balls", "Thin fruit", "off", BRACKET_AND_BALLS)),
    (("renew_wood",), Symbol("cross to arrow head", "Old wood out, young shoot takes its place", "off",
                             CROSS_TO_ARROW)),
    (("clear_wall_side",), Symbol("wall and cross", "Take off growth toward the wall", "off", WALL_AND_CROSS,
                                  turns=False)),
    (("clean_out",), Symbol("broken twig", "Dead, sick or broken wood out", "off", BROKEN_TWIG, turns=False)),
    (("plant",), Symbol("sprout", "Plant", "wood", SPROUT, turns=False, place="foot")),
    (("water",), Symbol("drop", "Water", "tie", DROP, turns=False, place="foot")),
    (("feed_mulch",), Symbol("mound", "Feed, mulch", "wood", MOUND, turns=False, place="foot")),
    (("protect_frost",), Symbol("star", "Protect from frost", "tie", STAR, turns=False, place="above")),
    (("pick",), Symbol("basket", "Pick", "wood", BASKET, turns=False)),
    (("tighten_wires",), Symbol("two wedges", "Tighten the wire", "tie", TURNBUCKLE, turns=False, place="wire")),
    (("straighten_posts",), Symbol("leaning post", "Set the post upright", "tie", PLUMB_POST, turns=False,
                                   place="post")),
    (("erect_support",), Symbol("posts and wires", "Put up the support", "tie", POSTS_AND_WIRES, turns=False,
                                place="post")),
    (("replace_tree",), Symbol("ringed tree", "Replace the tree", "wood", TREE_AGAIN, turns=False, place="foot")),
)  # fmt: skip

SYMBOLS: dict[str, Symbol] = {kind: symbol for kinds, symbol in _SYMBOLS for kind in kinds}


def symbol_of(kind: str) -> Symbol:
    """The symbol of a kind of work; the diamond ("look here") for a kind that has none of its own."""
    return SYMBOLS.get(kind, SYMBOLS["inspect"])


def tone_ink(symbol: Symbol, ink: Ink) -> str:
    return {"wood": ink.wood, "off": ink.off, "tie": ink.tie}[symbol.tone]


def draw_symbol(canvas: Canvas, symbol: Symbol, where: Point, way: Point, ink: Ink) -> Box:
    """Paint a symbol at a point of the sheet, its x axis along ``way``; returns the box it fills."""
    axis = way if symbol.turns else (1.0, 0.0)
    colour = tone_ink(symbol, ink)
    for part in symbol.parts:
        _paint(canvas, part, where, axis, (ink.paper, HALO))
    for part in symbol.parts:
        _paint(canvas, part, where, axis, (colour, 0.0))
    radius = symbol.radius + HALO
    return Box(where[0] - radius, where[1] - radius, where[0] + radius, where[1] + radius)


def spot(local: Point, where: Point, axis: Point) -> Point:
    """A symbol's own point on the sheet."""
    (x, y), (ux, uy) = local, axis
    return (where[0] + x * ux - y * uy, where[1] + x * uy + y * ux)


def _paint(canvas: Canvas, part: Part, where: Point, axis: Point, pen: tuple[str, float]) -> None:
    colour, extra = pen
    is_halo = extra > 0
    fills = {"ink": colour, "paper": "#FFFFFF", None: "none"}
    if isinstance(part, Sign):
        if not is_halo:
            base = (where[0], where[1] + part.size * 0.36)
            canvas.text(part.text, base, fill=colour, font_size=part.size, font_weight="700", text_anchor="middle")
    elif isinstance(part, Half):
        if not is_halo:
            first, last = spot((0.0, -part.radius), where, axis), spot((0.0, part.radius), where, axis)
            radius = number(part.radius)
            canvas.add("path", d=f"M{at(first)}A{radius} {radius} 0 0 0 {at(last)}Z", fill=colour)
    elif isinstance(part, Ring):
        centre = spot(part.centre, where, axis)
        canvas.add(
            "circle", cx=centre[0], cy=centre[1], r=part.radius, fill=fills[part.fill], stroke=colour,
            stroke_width=part.width + 2 * extra, stroke_dasharray=None if is_halo else part.dash,
        )  # fmt: skip
    else:
        data = polyline_path((spot(point, where, axis) for point in part.points), closed=part.is_closed)
        canvas.add(
            "path", d=data, fill=fills[part.fill], stroke=colour,
            stroke_width=part.width + 2 * extra, stroke_dasharray=None if is_halo else part.dash,
            stroke_linejoin="round" if is_halo else None, stroke_linecap="round" if is_halo else None,
        )  # fmt: skip
