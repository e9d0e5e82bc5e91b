"""One tree on its support, to scale, with what is to be done to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gardens.training import spacing_for, vigour_class, width_taken_mm
from gardens.training.state import TreeState

from .canvas import Canvas, polyline_path
from .close import near_reach
from .figure import Figure, build_figure, cut_stations, paint_tree, tier_keys
from .frame import Frame, Margins, Reach, fit
from .geometry import Box
from .habits import habit_of
from .marks import Mark
from .page import clipped, document
from .placing import draw_sites
from .sites import set_marks
from .skeleton import build_skeleton
from .style import Options, Width
from .support import (
    POST_MM,
    SupportPicture,
    draw_ground,
    draw_scale_bar,
    draw_structure,
    write_aspect,
    write_wire_heights,
)
from .symbols import SYMBOLS, draw_symbol
from .words import tree_description, tree_title

WIDTH = Width()
NARROW_MM = 1600
NEAR_END_MM = 300
"""A support that ends this near to the tree is shown to its end."""


def draw_tree(
    state: TreeState,
    marks: Sequence[Mark] = (),
    support: SupportPicture | None = None,
    options: Options | None = None,
) -> str:
    """The elevation of one tree as SVG text.

    Seen from in front, as the worker stands. Without a support, posts and wires are drawn as the tree's facts have
    them.

    Raises:
        ValueError: when the picture would be smaller than 12 mm either way.
    """
    options = options or Options()
    support = support or _own_support(state)
    zero = support.zero_mm
    reach = _reach(state, support, options, zero)
    near = near_reach(state, marks, support, reach, options)
    reach = near or reach
    frame = _narrowed(fit(reach, _margins(support, options), options), reach, support, zero, options)
    figure = build_figure(state, frame.view, frame.sheet, options, _cuts(state, marks))
    canvas = Canvas()
    if options.emphasise:
        _draw_band(canvas, figure, options)
    draw_structure(canvas, support, frame, options, zero)
    draw_ground(canvas, frame, options)
    if state.facts.form == "lattice" and not options.compact:
        _draw_neighbours(canvas, figure, frame)
    paint_tree(canvas, figure)
    if options.with_ties and not options.compact:
        _draw_good_ties(canvas, figure, marks, options)
    inside = clipped(canvas.content(), frame, options) if options.crop_to or near else canvas.content()
    outside = Canvas()
    if options.compact:
        hard: list[Box] = []
    else:
        hard = write_wire_heights(outside, support, frame, options)
        bar = draw_scale_bar(outside, frame, options)
        write_aspect(outside, support, frame, options, bar)
        hard.append(bar)
    _draw_marks(outside, marks, figure, (support, frame, hard))
    drawn = tuple(mark.words() for mark in marks)
    words = (tree_title(state, options.title), tree_description(state, drawn, options.units))
    return document(inside + outside.content(), (frame.width, frame.height), words, options)


def _margins(support: SupportPicture, options: Options) -> Margins:
    if options.compact:
        return Margins(0.6, 0.6, 0.6, 0.6)
    right = 17.0 if support.wire_heights_mm else 5.0
    return Margins(left=5.0, top=5.0, right=right, bottom=10.0)


def head_room(state: TreeState, options: Options) -> float:
    """What this year's growth needs above the wood [mm]."""
    habit = habit_of(state.facts.species, state.facts.form)
    if habit.side_wood == "vine" and options.season == "in_leaf":
        return habit.shoot_mm * 1.2
    return 60.0


def _own_support(state: TreeState) -> SupportPicture:
    """Posts and wires as the tree's facts have them, as long as the tree is wide."""
    picture = SupportPicture.for_tree(state.facts)
    reach = build_skeleton(state).reach()
    left = max(picture.trunk_x_mm or 0, round(-reach.left) + 150)
    right = max(picture.run_mm - (picture.trunk_x_mm or 0), round(reach.right) + 150)
    if left + right < NARROW_MM:  # such trees share a bay: posts at their elbows would be a ladder
        left, right = left + NARROW_MM, right + NARROW_MM
    return replace(picture, run_mm=left + right, trunk_x_mm=left)


def _reach(state: TreeState, support: SupportPicture, options: Options, zero: int) -> Reach:
    """What the window must show: the tree, its own stretch of support, or the limb it is cropped to."""
    skeleton = build_skeleton(state)
    if options.crop_to and (course := skeleton.course(options.crop_to)) is not None:
        points = [point for point, _ in (*course.present, *course.wanted)]
        if points:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            near = Reach(min(xs), min(ys), max(xs), max(ys))
            return near.grown(max(140.0, 0.12 * max(near.width, near.height)))
    facts = state.facts
    half = width_taken_mm(facts) / 2
    left, right = min(half, facts.run_left_mm), min(half, facts.run_right_mm)
    if facts.run_left_mm + facts.run_right_mm <= 2 * half:
        left, right = facts.run_left_mm, facts.run_right_mm
    own = Reach(-float(left), -130.0, float(right), 0.0)
    tree = skeleton.reach().joined(own)
    built = support.reach(zero)
    top = max(tree.top + head_room(state, options), built.top)
    left, right = min(tree.left - 120, -200.0), max(tree.right + 120, 200.0)
    if left - NEAR_END_MM < built.left:
        left = min(left, built.left - POST_MM)
    if right + NEAR_END_MM > built.right:
        right = max(right, built.right + POST_MM)
    return Reach(left, min(tree.bottom - 60, -130.0), right, top + 30)


def _narrowed(frame: Frame, reach: Reach, support: SupportPicture, zero: int, options: Options) -> Frame:
    """The window drawn in to the tree and its support where the sheet is wider than both."""
    if options.crop_to:
        return frame
    view, window = frame.view, frame.window
    left = min(view.place(-zero - 180, 0)[0], view.place(reach.left, 0)[0])
    right = max(view.place(support.run_mm - zero + 180, 0)[0], view.place(reach.right, 0)[0])
    return replace(frame, window=Box(max(window.left, left), window.top, min(window.right, right), window.bottom))


def _cuts(state: TreeState, marks: Sequence[Mark]) -> dict[str, float]:
    cuts: dict[str, float] = {}
    for mark in marks:
        if mark.kind in ("head_back", "shorten_arms"):
            cuts |= cut_stations(state, mark.limb, mark.at_mm)
    return cuts


def _draw_band(canvas: Canvas, figure: Figure, options: Options) -> None:
    """A pale band behind the limb the page speaks of."""
    key = options.emphasise
    keys = tier_keys(figure.state, key) if key.startswith("tier:") else [key]
    for name in keys:
        trace = figure.traces.get(name) or figure.ghosts.get(name)
        if trace is None:
            continue
        data = polyline_path(trace.points)
        for colour, width in ((options.ink.band_edge, 6.2), (options.ink.band, 5.5)):
            canvas.add("path", d=data, fill="none", stroke=colour, stroke_width=width, stroke_linecap="round",
                       stroke_linejoin="round", class_="band")  # fmt: skip


def _draw_neighbours(canvas: Canvas, figure: Figure, frame: Frame) -> None:
    """The next trees of a lattice, pale: one V alone does not show what it is a part of."""
    facts = figure.state.facts
    room = spacing_for(facts.form, vigour_class(facts))
    apart = figure.view.paper((room.low_mm + room.high_mm) / 2) if room is not None else 0.0
    if apart < 8:
        return
    lines: list[str] = []
    for count in (-3, -2, -1, 1, 2, 3):
        for trace in figure.traces.values():
            moved_on = [(x + count * apart, y) for x, y in trace.points]
            inside = [point for point in moved_on if frame.window.grown(-0.5).holds(point)]
            if len(inside) > 1:
                lines.append(polyline_path(inside))
    if lines:
        canvas.add("path", d="".join(lines), fill="none", stroke=figure.options.ink.hint, stroke_width=0.8,
                   stroke_linejoin="round", class_="hint")  # fmt: skip


def _draw_good_ties(canvas: Canvas, figure: Figure, marks: Sequence[Mark], options: Options) -> None:
    """A small ring for every tie that is on the tree and no mark speaks of."""
    spoken = {m.limb for m in marks if m.kind in ("tie_in", "renew_ties", "remove_ties")}
    if "whole" in spoken:
        return
    for tie in figure.state.ties:
        trace = figure.traces.get(tie.limb)
        if trace is None or tie.limb in spoken:
            continue
        station = trace.stations[0] + trace.length * 0.7
        draw_symbol(canvas, SYMBOLS["good_tie"], trace.point_at(station), trace.direction_at(station), options.ink)


def _draw_marks(
    canvas: Canvas, marks: Sequence[Mark], figure: Figure, ground: tuple[SupportPicture, Frame, list[Box]]
) -> None:
    support, frame, hard = ground
    sites = set_marks(marks, figure, support, frame)
    draw_sites(canvas, sites, [figure], (frame.sheet, hard), figure.options)
