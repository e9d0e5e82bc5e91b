"""A support laid out with its dimensions: wires, posts or eyes, trees, what stands in the ground."""

from __future__ import annotations

from collections.abc import Sequence

from gardens.units import show_length

from .canvas import Canvas, at
from .dimensions import draw_height_chain, draw_width, draw_width_chain
from .figure import build_figure, paint_limbs
from .frame import Frame, Margins, Reach, View, fit
from .lettering import CENTRED, LETTER, put_words, shortened
from .page import document
from .row import TreeInRow
from .style import Options, Width
from .support import POST_MM, SupportPicture, draw_ground, draw_scale_bar, draw_structure, write_aspect
from .words import TITLE_LENGTH, cut

WIDTH = Width()
CHAIN = 6.0
"""Distance from one line of dimensions to the next [mm of paper]."""


def draw_layout(support: SupportPicture, trees: Sequence[TreeInRow] = (), options: Options | None = None) -> str:
    """The elevation of a support as it is to be built, with dimensions; trees are drawn as they are wanted.

    Left: wire to wire from the ground. Below: post to post (or eye to eye), tree to tree with the distance to both
    ends, the whole run.
    """
    options = options or Options(max_height_mm=110.0)
    chains = 2 + bool(trees) + (1 if any(tree.label for tree in trees) else 0)
    depth = max(support.post_depth_mm, 130)
    reach = Reach(-POST_MM, -float(depth), support.run_mm + POST_MM, _top(support))
    margins = Margins(left=21.0, top=5.0, right=21.0, bottom=9.0 + CHAIN * chains)
    frame = fit(reach, margins, options)
    canvas = Canvas()
    _draw_in_ground(canvas, support, frame, options)
    draw_structure(canvas, support, frame, options, 0)
    draw_ground(canvas, frame, options)
    for tree in trees:
        view = View(frame.view.scale, frame.view.place(tree.x_mm, 0))
        with canvas.group(class_="tree", data_tree=tree.label or None):
            paint_limbs(canvas, build_figure(tree.state, view, frame.sheet, options))
    left, right = frame.view.place(0, 0)[0], frame.view.place(support.run_mm, 0)[0]
    draw_height_chain(canvas, frame, support.wire_heights_mm, left - 4.5, options)
    draw_height_chain(canvas, frame, [support.height_mm], right + 16.0, options)
    y = frame.window.bottom + CHAIN * 0.7
    if any(tree.label for tree in trees):
        _write_trees(canvas, trees, frame, y, options)
        y += CHAIN
    if trees:
        draw_width_chain(canvas, frame, [0, *(tree.x_mm for tree in trees), support.run_mm], y, options)
        y += CHAIN
    draw_width_chain(canvas, frame, support.posts(), y, options)
    draw_width(canvas, (left, right), y + CHAIN, show_length(support.run_mm, options.units), options)
    write_aspect(canvas, support, frame, options, draw_scale_bar(canvas, frame, options))
    return document(canvas.content(), (frame.width, frame.height), _words(support, trees, options), options)


def _top(support: SupportPicture) -> float:
    return float(max(support.height_mm, *support.wire_heights_mm, 0)) + 60.0


def _draw_in_ground(canvas: Canvas, support: SupportPicture, frame: Frame, options: Options) -> None:
    """What of the posts stands in the ground, dashed, and how deep."""
    if support.post_depth_mm <= 0 or support.kind == "wall":
        return
    half = max(frame.view.paper(POST_MM), 1.4) / 2
    data = ""
    for position in support.posts():
        x, ground = frame.view.place(position, 0)
        foot = frame.view.place(position, -support.post_depth_mm)[1]
        data += f"M{at((x - half, ground))}L{at((x - half, foot))}L{at((x + half, foot))}L{at((x + half, ground))}"
    canvas.add("path", d=data, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.post, stroke_dasharray="1 1")
    x = frame.view.place(support.posts()[-1], 0)[0] + half + 1.5
    text = show_length(support.post_depth_mm, options.units)
    y = frame.view.place(0, -support.post_depth_mm)[1]
    put_words(canvas, shortened(text, frame.width - x), (x, y), options)


def _write_trees(canvas: Canvas, trees: Sequence[TreeInRow], frame: Frame, y: float, options: Options) -> None:
    last = -1e9
    for tree in sorted(trees, key=lambda tree: tree.x_mm):
        x = frame.view.place(tree.x_mm, 0)[0]
        text = shortened(tree.label, 24.0)
        if text and x - last > len(text) * LETTER * 0.62 + 1.0:
            put_words(canvas, text, (x, y + LETTER * 0.35), options, CENTRED)
            last = x


def _words(support: SupportPicture, trees: Sequence[TreeInRow], options: Options) -> tuple[str, str]:
    name = support.label or {"wall": "Wall", "fence": "Fence", "post_and_wire": "Posts and wires"}[support.kind]
    wires = ", ".join(show_length(height, options.units) for height in support.wire_heights_mm) or "none"
    posts = ", ".join(show_length(place, options.units) for place in support.posts())
    parts = [
        f"Run {show_length(support.run_mm, options.units)}, height {show_length(support.height_mm, options.units)}.",
        f"Wires at {wires}. {'Eyes' if support.kind == 'wall' else 'Posts'} at {posts} from the left end.",
    ]
    if support.post_depth_mm:
        parts.append(f"Posts {show_length(support.post_depth_mm, options.units)} in the ground.")
    if trees:
        places = ", ".join(show_length(tree.x_mm, options.units) for tree in sorted(trees, key=lambda t: t.x_mm))
        parts.append(f"Trees at {places} from the left end.")
    return cut(options.title or f"{name}, layout with dimensions", TITLE_LENGTH), " ".join(parts)
