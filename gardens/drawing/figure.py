"""One tree, ready to be painted: its traces on paper, its thickness, what is to be cut off it; and the painting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import radians, sin

from gardens.training.state import Limb, TreeState

from .canvas import Canvas, Point, at, polyline_path
from .foliage import Foliage, leaf_length
from .frame import View
from .geometry import Box, Trace, moved, unit
from .habits import Habit, habit_of
from .sidewood import OldWood, Piece, Thicket, Twigs, old_wood, place_pieces, replacement_spur
from .skeleton import STEM_KINDS, Course, Skeleton, build_skeleton, trace_on
from .style import Options, Width
from .wood import Taper, draw_bark, draw_buds, draw_shoots, draw_spurs, draw_two_bud_spurs, tapered_path, tapers

WIDTH = Width()
GHOST_HEIGHT = 2.4
GHOST_HEIGHT_OF_RIBS = 1.6
"""Ribs lie close together and across the wires, so their bars may be narrower."""

DASH_OFF = "2.2 1.4"


@dataclass(frozen=True)
class Figure:
    """A tree on paper. ``cuts`` are distances along a limb beyond which it is waste."""

    skeleton: Skeleton
    view: View
    options: Options
    habit: Habit
    traces: dict[str, Trace]
    ghosts: dict[str, Trace]
    tapers: dict[str, Taper]
    pieces: dict[str, list[Piece]]
    room: Box
    cuts: Mapping[str, float] = field(default_factory=dict)

    @property
    def state(self) -> TreeState:
        return self.skeleton.state

    def limb(self, key: str) -> Limb | None:
        course = self.skeleton.course(key)
        return course.limb if course else None

    def end_of(self, key: str) -> float:
        """Where the wood that stays ends [mm along the limb]."""
        last = self.traces[key].stations[-1]
        return min(self.cuts.get(key, last), last)


def build_figure(
    state: TreeState, view: View, room: Box, options: Options, cuts: Mapping[str, float] | None = None
) -> Figure:
    """Lay a tree on paper. ``view`` places the tree's own x = 0; side wood keeps within ``room``."""
    skeleton = build_skeleton(state)
    traces: dict[str, Trace] = {}
    ghosts: dict[str, Trace] = {}
    for course in skeleton.courses:
        key = course.limb.key
        present = trace_on(view, course.present, key)
        if present is not None:
            traces[key] = present
        if options.with_ghost and (ghost := _ghost_of(course, view)) is not None:
            ghosts[key] = ghost
    figure = Figure(
        skeleton,
        view,
        options,
        habit_of(state.facts.species, state.facts.form),
        traces,
        ghosts,
        tapers(skeleton, view.scale, options),
        {},
        room,
        dict(cuts or {}),
    )
    _grow_side_wood(figure)
    return figure


def _grow_side_wood(figure: Figure) -> None:
    is_leafy = figure.options.season == "in_leaf"
    leaf = leaf_length(figure.habit, figure.view.scale, figure.options) if is_leafy else 1.0
    thicket = Thicket(figure.room.grown(-leaf))
    for key, trace in figure.traces.items():
        thicket.fill_trace(trace, key)
    if figure.options.compact and figure.view.scale > 80 and not is_leafy:
        return
    for course in figure.skeleton.courses:
        key = course.limb.key
        if key in figure.traces and course.limb.status != "lost":
            stretch = _stretch(course.limb, figure)
            twigs = Twigs(key, figure.habit, figure.options.season, figure.view.scale)
            figure.pieces[key] = place_pieces(figure.traces[key], figure.habit, stretch, thicket, twigs)
            if course.limb.kind == "cane" and not is_leafy and figure.habit.side_wood == "vine":
                figure.pieces[key] = [replacement_spur(figure.traces[key], twigs)]


def _stretch(limb: Limb, figure: Figure) -> OldWood:
    end = figure.end_of(limb.key)
    if limb.kind == "cane" and figure.options.season == "in_leaf":
        return OldWood(90.0, end)
    return old_wood(limb, figure.state.facts.form, end)


def cut_stations(state: TreeState, limb_key: str, at_mm: int | None) -> dict[str, float]:
    """Where a shortening cuts, per limb; for the stem a height above ground cuts everything that stands higher."""
    if at_mm is None:
        return {}
    if limb_key in STEM_KINDS:
        cuts: dict[str, float] = {}
        for course in build_skeleton(state).courses:
            limb = course.limb
            if limb.kind in STEM_KINDS and limb.length_mm > 0:
                station = (at_mm - limb.origin_y_mm) / max(sin(radians(limb.angle_deg)), 0.2)
                if station < limb.length_mm:
                    cuts[limb.key] = max(station, 0.0)
        return cuts
    if limb_key.startswith("tier:"):
        return dict.fromkeys(tier_keys(state, limb_key), float(at_mm))
    return {limb_key: float(at_mm)}


def tier_keys(state: TreeState, key: str) -> list[str]:
    """The limbs of "tier:k"."""
    return [limb.key for limb in state.limbs if f"tier:{limb.tier}" == key and limb.kind not in STEM_KINDS]


def paint_tree(canvas: Canvas, figure: Figure) -> None:
    """Leaves below the wood so that the wood stays legible, then the limbs, then fruit in front of them."""
    foliage = _foliage(figure) if figure.options.season == "in_leaf" else {}
    for key, leaves in foliage.items():
        with canvas.group(data_limb=key, class_="leaves"):
            leaves.paint(canvas)
    paint_limbs(canvas, figure)
    for key, leaves in foliage.items():
        with canvas.group(data_limb=key, class_="fruit"):
            leaves.paint_fruit(canvas)


def _foliage(figure: Figure) -> dict[str, Foliage]:
    grown = ((course.limb.key, _foliage_of(course.limb, figure)) for course in figure.skeleton.courses)
    return {key: foliage for key, foliage in grown if foliage is not None}


def paint_limbs(canvas: Canvas, figure: Figure) -> None:
    """Every limb in a group of its own, named by its key: ghost first, wood on it, waste dashed; the stem last."""
    for course in sorted(figure.skeleton.courses, key=lambda course: course.limb.kind in STEM_KINDS):
        key = course.limb.key
        name = f"{figure.options.id_prefix}-limb-{_id_part(key)}"
        with canvas.group(id=name, data_limb=key, class_=f"limb {course.limb.status}"):
            if key in figure.ghosts:
                _paint_ghost(canvas, course.limb, figure)
            if key in figure.traces:
                _paint_wood(canvas, course, figure)
            if figure.options.tappable:
                _paint_reach(canvas, figure, key)


def _id_part(key: str) -> str:
    return "".join(letter if letter.isalnum() and letter.isascii() else "-" for letter in key)


def _ghost_of(course: Course, view: View) -> Trace | None:
    """The line still to be filled: the missing tip of a limb in place, all of a limb that lies elsewhere."""
    limb = course.limb
    if limb.kind == "trunk" or len(course.wanted) < 2 or limb.wanted_mm <= 0:
        return None
    if course.is_in_place and limb.wanted_mm <= limb.length_mm:
        return None
    line = Trace(tuple(view.place(x, y) for (x, y), _ in course.wanted), tuple(s for _, s in course.wanted))
    gap = view.scale * 2.4
    joint = -course.wanted[0][1]
    begin = limb.length_mm + gap if course.is_in_place and limb.length_mm > 0 else max(joint, gap * 0.8)
    ghost = line.between(begin, limb.wanted_mm)
    return ghost if ghost is not None and ghost.paper_length() >= 1.4 else None


def _paint_ghost(canvas: Canvas, limb: Limb, figure: Figure) -> None:
    """The outline of a bar: where the limb should be one day."""
    tall = GHOST_HEIGHT_OF_RIBS if limb.kind == "rib" else GHOST_HEIGHT
    ghost, half = figure.ghosts[limb.key], tall / 2 * (0.7 if figure.options.compact else 1.0)
    left: list[Point] = []
    right: list[Point] = []
    for index, point in enumerate(ghost.points):
        before, after = ghost.points[max(index - 1, 0)], ghost.points[min(index + 1, len(ghost.points) - 1)]
        tx, ty = unit(after[0] - before[0], after[1] - before[1])
        left.append((point[0] + ty * half, point[1] - tx * half))
        right.append((point[0] - ty * half, point[1] + tx * half))
    canvas.add(
        "path", d=polyline_path((*left, *reversed(right)), closed=True), fill="none",
        stroke=figure.options.ink.tie, stroke_width=WIDTH.ghost, stroke_dasharray="1 1", class_="ghost",
    )  # fmt: skip


def _paint_wood(canvas: Canvas, course: Course, figure: Figure) -> None:
    limb, trace, ink = course.limb, figure.traces[course.limb.key], figure.options.ink
    if limb.status == "lost":
        stub = trace.between(trace.stations[0], trace.stations[0] + figure.view.scale * 3)
        if stub is not None:
            canvas.add("path", d=tapered_path(stub, figure.tapers[limb.key], limb.key), fill=ink.wood, class_="wood")
        return
    end = figure.end_of(limb.key)
    kept = trace if end >= trace.stations[-1] else trace.between(trace.stations[0], end)
    if kept is not None:
        _paint_cane(canvas, limb, figure)
        if figure.options.season == "dormant":
            _paint_side_wood(canvas, limb, figure)
        taper = _cut_taper(figure.tapers[limb.key], trace, kept)
        knob = 0.16 if figure.habit.is_grafted and trace.stations[0] <= 0 and _stands_in_ground(limb) else 0.0
        canvas.add("path", d=tapered_path(kept, taper, limb.key, knob=knob), fill=ink.wood, class_="wood")
        draw_bark(canvas, kept, taper, limb.key, figure.options)
    waste = trace.between(max(end, trace.stations[0]), trace.stations[-1]) if end < trace.stations[-1] else None
    if waste is not None:
        canvas.add(
            "path", d=polyline_path(waste.points), fill="none", stroke=ink.off,
            stroke_width=WIDTH.off, stroke_dasharray=DASH_OFF, class_="off",
        )  # fmt: skip


def _stands_in_ground(limb: Limb) -> bool:
    return limb.origin_y_mm <= 0 and (limb.kind in STEM_KINDS or limb.parent == "")


def _cut_taper(taper: Taper, whole: Trace, kept: Trace) -> Taper:
    if kept is whole:
        return taper
    share = kept.paper_length() / max(whole.paper_length(), 1e-6)
    return Taper(taper.base, taper.base + (taper.tip - taper.base) * share, taper.collar)


def _paint_cane(canvas: Canvas, limb: Limb, figure: Figure) -> None:
    """The bamboo cane a slanted young limb is tied to: a thin pale rod beside it, a hand longer than the limb."""
    if limb.status != "tied" or limb.kind not in ("arm", "rib") or figure.options.compact:
        return
    if not 15 <= limb.angle_deg <= 80:
        return
    trace = figure.traces[limb.key]
    way = trace.direction_at(trace.length * 0.6)
    side = (-way[1], way[0])
    start = moved(trace.point_at(trace.length * 0.12), side, 0.9)
    last = moved(moved(trace.end, side, 0.9), way, 2.5)
    canvas.add("path", d=f"M{at(start)}L{at(last)}", fill="none", stroke=figure.options.ink.steel,
               stroke_width=WIDTH.hint, class_="cane")  # fmt: skip


def _paint_side_wood(canvas: Canvas, limb: Limb, figure: Figure) -> None:
    habit, trace, options = figure.habit, figure.traces[limb.key], figure.options
    pieces = figure.pieces.get(limb.key, [])
    if pieces and habit.side_wood != "canes":
        draw = {"spurs": draw_spurs, "shoots": draw_shoots, "vine": draw_two_bud_spurs}[habit.side_wood]
        draw(canvas, pieces, limb.key, options)
    end = figure.end_of(limb.key)
    if limb.kind == "trunk" or end < trace.stations[-1] or options.compact:
        return
    old = old_wood(limb, figure.state.facts.form, end)
    step = max(95.0 if habit.side_wood == "vine" else 70.0, figure.view.scale * 2.4)
    begin = max(old.end, 60.0)
    if begin + step < end:
        draw_buds(
            canvas, trace, (begin + step / 2, end - step / 2), (step, 1.6 if limb.kind == "cane" else 1.15), options
        )


def _foliage_of(limb: Limb, figure: Figure) -> Foliage | None:
    trace = figure.traces.get(limb.key)
    if trace is None or limb.status == "lost":
        return None
    foliage = Foliage(figure.habit, limb.key, figure.view.scale, figure.options, figure.room.grown(-WIDTH.leaf))
    for piece in figure.pieces.get(limb.key, []):
        foliage.grow(piece)
    end = figure.end_of(limb.key)
    old = _stretch(limb, figure)
    is_bare = limb.kind in ("trunk", "cane") and len(figure.traces) > 1
    if not is_bare and end > 0:
        start = old.end if old.end > old.begin else min(90.0, end * 0.2)
        if limb.kind in STEM_KINDS and old.end <= old.begin:
            start = max(start, end - 700.0)
        foliage.tip_leaves(trace, start, end)
    return foliage


def _paint_reach(canvas: Canvas, figure: Figure, key: str) -> None:
    """An unseen broad line over the limb, for fingers."""
    trace = figure.traces.get(key) or figure.ghosts.get(key)
    if trace is None:
        return
    canvas.add(
        "path", d=polyline_path(trace.points), fill="none", stroke="none", stroke_width=6.0,
        stroke_linecap="round", pointer_events="stroke", class_="reach",
    )  # fmt: skip


def upper_side(way: Point) -> Point:
    """The side of a limb that looks up (or left, where it stands upright)."""
    normal = (way[1], -way[0])
    return normal if normal[1] < -0.05 or (abs(normal[1]) <= 0.05 and normal[0] < 0) else (-normal[0], -normal[1])


def beside(point: Point, way: Point, by: float) -> Point:
    """The point a distance off the upper side of a limb."""
    return moved(point, upper_side(way), by)
