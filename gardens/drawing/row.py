"""A whole support with all its trees in a row, to scale, each with its label underneath."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gardens.training.state import TreeState

from .canvas import Canvas
from .figure import Figure, build_figure, paint_tree
from .frame import Frame, Margins, Reach, View, fit
from .geometry import Box
from .ground import Ground, set_support_marks
from .lettering import LETTER, Face, put_words, shortened, words_width
from .marks import Mark
from .page import document
from .placing import draw_sites
from .skeleton import build_skeleton
from .style import Options
from .support import SupportPicture, draw_ground, draw_scale_bar, draw_structure, write_aspect, write_wire_heights
from .tree import head_room
from .words import FORM_WORDS, TITLE_LENGTH, cut

LABEL_GAP = 1.2


@dataclass(frozen=True, kw_only=True)
class TreeInRow:
    """A tree at its place along a support [mm from the left end], with the words under it."""

    state: TreeState
    x_mm: int
    label: str = ""


def draw_support(
    support: SupportPicture,
    trees: Sequence[TreeInRow] = (),
    options: Options | None = None,
    marks: Sequence[Mark] = (),
) -> str:
    """The elevation of a support and its trees as SVG text; x counts from the support's left end.

    ``marks`` are jobs on the support itself ("wire:2" from below, "post:1" from the left); the jobs on a tree belong on
    its own picture.

    Limb groups carry the id prefix with the tree's number in the row ("picture-2-limb-arm-1-left").
    """
    options = options or Options(max_height_mm=90.0)
    lines = 0 if options.compact or not any(tree.label for tree in trees) else 2
    bottom = 0.6 if options.compact else 10.0 + lines * (LETTER + LABEL_GAP)
    side = 0.6 if options.compact else 5.0
    right = side if options.compact or not support.wire_heights_mm else 17.0
    frame = fit(_reach(support, trees, options), Margins(side, side, right, bottom), options)
    frame = _narrowed(frame, _reach(support, trees, options))
    canvas = Canvas()
    draw_structure(canvas, support, frame, options, 0)
    draw_ground(canvas, frame, options)
    figures = [_figure(tree, number, frame, options) for number, tree in enumerate(trees, 1)]
    for number, (tree, figure) in enumerate(zip(trees, figures, strict=True), 1):
        with canvas.group(class_="tree", data_tree=tree.label or str(number)):
            paint_tree(canvas, figure)
    hard: list[Box] = []
    if not options.compact:
        hard = write_wire_heights(canvas, support, frame, options)
        write_aspect(canvas, support, frame, options, draw_scale_bar(canvas, frame, options))
        hard += _write_labels(canvas, trees, frame, options)
    sites = set_support_marks(marks, Ground(support, frame))
    draw_sites(canvas, sites, figures, (frame.sheet, hard), options)
    title, told = _words(support, trees, options)
    told = " ".join([told, *(mark.words() for mark in marks)])
    return document(canvas.content(), (frame.width, frame.height), (title, told), options)


def _reach(support: SupportPicture, trees: Sequence[TreeInRow], options: Options) -> Reach:
    reach = support.reach(0)
    for tree in trees:
        own = build_skeleton(tree.state).reach()
        reach = reach.joined(
            Reach(own.left + tree.x_mm, own.bottom, own.right + tree.x_mm, own.top + head_room(tree.state, options))
        )
    return Reach(reach.left - 200, min(reach.bottom, -130.0), reach.right + 200, reach.top + 40)


def _narrowed(frame: Frame, reach: Reach) -> Frame:
    left, right = frame.view.place(reach.left, 0)[0], frame.view.place(reach.right, 0)[0]
    window = frame.window
    return replace(frame, window=Box(max(left, window.left), window.top, min(right, window.right), window.bottom))


def _figure(tree: TreeInRow, number: int, frame: Frame, options: Options) -> Figure:
    view = View(frame.view.scale, frame.view.place(tree.x_mm, 0))
    return build_figure(tree.state, view, frame.sheet, replace(options, id_prefix=f"{options.id_prefix}-{number}"))


def _write_labels(canvas: Canvas, trees: Sequence[TreeInRow], frame: Frame, options: Options) -> list[Box]:
    """Labels under their trees; where two would touch, the second goes one line down."""
    taken: list[Box] = []
    ground = frame.view.place(0, 0)[1] + frame.view.paper(130) + LETTER + LABEL_GAP
    ends = [frame.window.left - 9.0, frame.window.left - 9.0]
    ordered = sorted((tree for tree in trees if tree.label), key=lambda tree: tree.x_mm)
    places = [frame.view.place(tree.x_mm, 0)[0] for tree in ordered]
    for index, tree in enumerate(ordered):
        room = _room(places, index, frame)
        text = shortened(tree.label, room)
        half = words_width(text) / 2
        x = min(max(places[index], half + 1.0), frame.width - half - 1.0)
        line = 0 if x - half > ends[0] + 1.5 else 1
        if line and x - half <= ends[1] + 1.5:
            continue
        ends[line] = x + half
        put_words(canvas, text, (x, ground + line * (LETTER + LABEL_GAP)), options, Face("middle", class_="label"))
        base = ground + line * (LETTER + LABEL_GAP)
        taken.append(Box(x - half, base - LETTER, x + half, base + 1.0))
    return taken


def _room(places: list[float], index: int, frame: Frame) -> float:
    """Room for one label on the two lines there are: up to the second neighbour on either side."""
    left = places[index - 2] if index >= 2 else -1e9
    right = places[index + 2] if index + 2 < len(places) else 1e9
    near = min(places[index] - left, right - places[index], frame.width)
    return max(min(near - 2.0, 60.0), 12.0)


def _words(support: SupportPicture, trees: Sequence[TreeInRow], options: Options) -> tuple[str, str]:
    count = f"{len(trees)} tree{'' if len(trees) == 1 else 's'}"
    title = cut(options.title or f"{support.label or support.kind.capitalize()}, {count}", TITLE_LENGTH)
    kind = {"wall": "A wall", "fence": "A fence", "post_and_wire": "Posts and wires"}[support.kind]
    parts = [f"{kind}, seen from in front, {count} from left to right."]
    for number, tree in enumerate(sorted(trees, key=lambda tree: tree.x_mm), 1):
        facts = tree.state.facts
        form = FORM_WORDS.get(facts.form, facts.form.replace("_", " "))
        parts.append(f"{number}: {tree.label or 'no label'}, {form}, {tree.state.stage}.")
    return title, " ".join(parts)
