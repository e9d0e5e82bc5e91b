"""A support laid out with its dimensions: posts plumb, wires along the ground, eyes, stays, trees, what stands in the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan, cos, sin

from gardens.supports.laid import Dimension, LaidPost, SupportLayout
from gardens.units import show_length

from .canvas import Canvas
from .dimensions import Piece, draw_chain, draw_height
from .figure import build_figure, paint_limbs
from .frame import Frame, Margins, Reach, SlopedView, fit
from .geometry import Box
from .lettering import CENTRED, LETTER, Face, put_words, shortened, words_width
from .page import document
from .row import TreeInRow
from .site_face import draw_braces, draw_eyes, draw_face, draw_laid_ground, draw_laid_posts, draw_laid_wires
from .style import Options
from .support import SupportPicture, draw_scale_bar, write_aspect
from .words import TITLE_LENGTH, cut

CHAIN = 6.0
"""Distance from one line of dimensions to the next [mm of paper]."""

EDGE_MM = 80
"""Ground shown beyond what is built."""

KIND_WORDS = {"wall": "Wall", "fence": "Fence", "post_and_wire": "Posts and wires"}


@dataclass(frozen=True, kw_only=True)
class LayoutSheet:
    """The words around a layout: what it is called and where it faces ("faces SW")."""

    label: str = ""
    aspect: str = ""


def draw_layout(
    layout: SupportLayout,
    trees: Sequence[TreeInRow] = (),
    options: Options | None = None,
    sheet: LayoutSheet | None = None,
) -> str:
    """The elevation of a support as it is to be built, with every dimension of the layout; trees as they stand.

    Left: the height, and how deep posts stand. Right: wire to wire and the height of each wire above the ground. Above:
    post to post or eye to eye. Below: tree to tree, the stays, the whole run. On a slope all are measured along the
    ground or plumb above it.
    """
    options, sheet = options or Options(max_height_mm=110.0), sheet or LayoutSheet()
    has_labels = any(tree.label for tree in trees)
    frame = _frame(layout, trees, options, has_labels=has_labels)
    canvas = Canvas()
    draw_face(canvas, layout, frame, options)
    draw_laid_posts(canvas, layout, frame, options)
    draw_braces(canvas, layout, frame, options)
    draw_laid_wires(canvas, layout, frame, options)
    draw_eyes(canvas, layout, frame, options)
    draw_laid_ground(canvas, layout, frame, options)
    for tree in trees:
        foot = frame.view.place(*_on_ground(layout, tree.x_mm))
        view = SlopedView(frame.view.scale, foot, layout.slope_percent / 100)
        with canvas.group(class_="tree", data_tree=tree.label or None):
            paint_limbs(canvas, build_figure(tree.state, view, frame.sheet, options))
    _draw_dimensions(canvas, layout, trees, frame, options)
    picture = SupportPicture(
        kind=layout.kind, run_mm=layout.run_mm, height_mm=layout.height_mm, aspect=_aspect(layout, sheet)
    )
    write_aspect(canvas, picture, frame, options, draw_scale_bar(canvas, frame, options))
    words = _words(layout, trees, options, sheet)
    return document(canvas.content(), (frame.width, frame.height), words, options)


def _frame(layout: SupportLayout, trees: Sequence[TreeInRow], options: Options, *, has_labels: bool) -> Frame:
    left, bottom, right, top = _built(layout)
    reach = Reach(left - EDGE_MM, bottom - 130.0, right + EDGE_MM, top + 60.0)
    chains = 1 + bool(_measures(layout, "tree_gap", "anchor") or trees) + has_labels
    return fit(reach, Margins(left=21.0, top=9.0, right=28.0, bottom=9.0 + CHAIN * chains), options)


def _built(layout: SupportLayout) -> tuple[float, float, float, float]:
    """Least x and y, greatest x and y of what is built: the ground itself runs on. [mm]"""
    corners = [_on_ground(layout, place) for place in (0, layout.run_mm)]
    corners += [(x, y + layout.height_mm) for x, y in corners]
    corners += [(post.x_mm, y) for post in layout.posts for y in (post.foot_y_mm, post.top_y_mm)]
    corners += [point for b in layout.braces for point in ((b.x1_mm, b.y1_mm), (b.x2_mm, b.y2_mm))]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _on_ground(layout: SupportLayout, along_mm: float) -> tuple[float, float]:
    """The place on the ground so far along it. [mm]"""
    slope = atan(layout.slope_percent / 100)
    return along_mm * cos(slope), along_mm * sin(slope)


def _draw_dimensions(
    canvas: Canvas, layout: SupportLayout, trees: Sequence[TreeInRow], frame: Frame, options: Options
) -> None:
    left = min(frame.view.place(x, 0)[0] for x in (0, _built(layout)[0]))
    for dimension in _measures(layout, "height", "post_depth"):
        ends = (frame.view.place(0, dimension.y1_mm)[1], frame.view.place(0, dimension.y2_mm)[1])
        draw_height(canvas, left - 4.5, ends, show_length(dimension.length_mm, options.units), options)
    _draw_wire_heights(canvas, layout, frame, options)
    draw_chain(canvas, _pieces(layout, frame, "hold_gap"), frame.window.top - 3.5, options)
    y = frame.window.bottom + CHAIN * 0.7
    if any(tree.label for tree in trees):
        labels = [(frame.view.place(*_on_ground(layout, tree.x_mm))[0], tree.label) for tree in trees]
        _write_trees(canvas, labels, y, options)
        y += CHAIN
    gaps = _tree_pieces(layout, trees, frame)
    anchors = _pieces(layout, frame, "anchor")
    if gaps or anchors:
        draw_chain(canvas, anchors, y, options)
        draw_chain(canvas, gaps, y, options)
        y += CHAIN
    draw_chain(canvas, _pieces(layout, frame, "run"), y, options)


def _measures(layout: SupportLayout, *what: str) -> list[Dimension]:
    return [dimension for dimension in layout.dimensions if dimension.what in what]


def _pieces(layout: SupportLayout, frame: Frame, what: str) -> list[Piece]:
    return [
        (frame.view.place(one.x1_mm, 0)[0], frame.view.place(one.x2_mm, 0)[0], one.length_mm)
        for one in _measures(layout, what)
    ]


def _tree_pieces(layout: SupportLayout, trees: Sequence[TreeInRow], frame: Frame) -> list[Piece]:
    """From end to tree to tree to end, where trees are drawn; else from place to place as laid out."""
    if not trees:
        return _pieces(layout, frame, "tree_gap")
    places = [0, *sorted(tree.x_mm for tree in trees), layout.run_mm]
    xs = [frame.view.place(*_on_ground(layout, place))[0] for place in places]
    return [(x1, x2, b - a) for (x1, x2), (a, b) in zip(pairwise(xs), pairwise(places), strict=True) if b > a]


def _draw_wire_heights(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """Wire to wire on a line at the right end; the height of each wire above the ground beside it."""
    right = max(frame.view.place(x, 0)[0] for x in (0, _built(layout)[2]))
    widest = max(
        (words_width(show_length(d.length_mm, options.units)) for d in _measures(layout, "wire_gap")), default=0
    )
    line = right + widest + 3.0
    for dimension in _measures(layout, "wire_gap"):
        ends = (frame.view.place(0, dimension.y1_mm)[1], frame.view.place(0, dimension.y2_mm)[1])
        draw_height(canvas, line, ends, show_length(dimension.length_mm, options.units), options)
    taken: list[Box] = []
    for dimension in _outer_first(_measures(layout, "wire")):
        text = show_length(dimension.length_mm, options.units)
        x, y = line + 1.6, frame.view.place(0, dimension.y2_mm)[1]
        box = Box(x, y - LETTER * 0.55, x + words_width(text), y + LETTER * 0.5)
        if box.right <= frame.width and not any(box.overlaps(other) for other in taken):
            put_words(canvas, text, (x, y + LETTER * 0.35), options, Face(class_="height"))
            taken.append(box)


def _outer_first(wires: Sequence[Dimension]) -> list[Dimension]:
    return [wires[0], wires[-1], *wires[1:-1]] if len(wires) > 1 else list(wires)


def _write_trees(canvas: Canvas, labels: Sequence[tuple[float, str]], y: float, options: Options) -> None:
    last = -1e9
    for x, label in sorted(labels):
        text = shortened(label, 24.0)
        if text and x - last > len(text) * LETTER * 0.62 + 1.0:
            put_words(canvas, text, (x, y + LETTER * 0.35), options, CENTRED)
            last = x


def _aspect(layout: SupportLayout, sheet: LayoutSheet) -> str:
    return " · ".join(part for part in (sheet.aspect, slope_words(layout.slope_percent)) if part)


def slope_words(slope_percent: float) -> str:
    """ "ground rises 8 % to the right"; nothing on the level."""
    if not slope_percent:
        return ""
    return f"ground {'rises' if slope_percent > 0 else 'falls'} {abs(slope_percent):g} % to the right"


def _words(layout: SupportLayout, trees: Sequence[TreeInRow], options: Options, sheet: LayoutSheet) -> tuple[str, str]:
    units = options.units
    name = sheet.label or KIND_WORDS[layout.kind]
    wires = ", ".join(show_length(height, units) for height in layout.wire_heights_mm) or "none"
    holds = [0, *(round(b.length_mm) for b in _measures(layout, "hold_gap"))]
    places = ", ".join(show_length(sum(holds[: number + 1]), units) for number in range(len(holds)))
    parts = [
        f"Run {show_length(layout.run_mm, units)}, height {show_length(layout.height_mm, units)}.",
        f"Wires at {wires}. {'Posts' if layout.posts else 'Eyes'} at {places} from the left end.",
    ]
    if layout.posts:
        parts.append(f"Posts {_depths(layout.posts, options)} in the ground.")
    if layout.slope_percent:
        parts.append(f"The {slope_words(layout.slope_percent)}; posts stand plumb, wires follow the ground.")
    if trees:
        at = ", ".join(show_length(tree.x_mm, units) for tree in sorted(trees, key=lambda tree: tree.x_mm))
        parts.append(f"Trees at {at} from the left end.")
    return cut(options.title or f"{name}, layout with dimensions", TITLE_LENGTH), " ".join(parts)


def _depths(posts: Sequence[LaidPost], options: Options) -> str:
    depths = sorted({post.ground_y_mm - post.foot_y_mm for post in posts})
    return " and ".join(show_length(depth, options.units) for depth in depths)
