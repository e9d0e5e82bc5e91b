"""One tree, ready to be painted: its traces on paper, its thickness, what is to be cut off it; and the painting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import radians, sin

from gardens.training.state import Limb, TreeState

from .canvas import Canvas, Point, at
from .foliage import Foliage
from .frame import View
from .geometry import Trace, moved, unit
from .habits import Habit, habit_of
from .skeleton import STEM_KINDS, Course, Skeleton, build_skeleton, trace_on, wanted_angle
from .style import Options, Width
from .wood import Taper, draw_buds, draw_shoots, draw_spurs, draw_two_bud_spurs, seats, tapered_path, tapers

WIDTH = Width()
GHOST_HEIGHT = 2.4
DASH_OFF = "2.2 1.4"
YOUNG_WOOD_MM = 420


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
    cuts: Mapping[str, float] = field(default_factory=dict)

    @property
    def state(self) -> TreeState:
        return self.skeleton.state

    def limb(self, key: str) -> Limb | None:
        course = self.skeleton.course(key)
        return course.limb if course else None


def build_figure(state: TreeState, view: View, options: Options, cuts: Mapping[str, float] | None = None) -> Figure:
    """Lay a tree on paper. ``view`` places the tree's own x = 0."""
    skeleton = build_skeleton(state)
    habit = habit_of(state.facts.species, state.facts.form)
    traces: dict[str, Trace] = {}
    ghosts: dict[str, Trace] = {}
    for course in skeleton.courses:
        key = course.limb.key
        present = trace_on(view, course.present, key)
        if present is not None:
            traces[key] = present
        if options.with_ghost and (ghost := _ghost_of(course, skeleton, view)) is not None:
            ghosts[key] = ghost
    widths = tapers(skeleton, view.scale, options)
    return Figure(skeleton, view, options, habit, traces, ghosts, widths, dict(cuts or {}))


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
        keys = [limb.key for limb in state.limbs if limb.kind == "arm" and limb.key.startswith(f"arm:{limb_key[5:]}:")]
        return dict.fromkeys(keys, float(at_mm))
    return {limb_key: float(at_mm)}


def paint_leaves(canvas: Canvas, figure: Figure) -> None:
    """Leaves of all limbs, below the wood so that the wood stays legible."""
    if figure.options.season != "in_leaf":
        return
    for course in figure.skeleton.courses:
        foliage = _foliage_of(course, figure)
        if foliage is not None:
            with canvas.group(data_limb=course.limb.key, class_="leaves"):
                foliage.paint(canvas)


def paint_limbs(canvas: Canvas, figure: Figure) -> None:
    """Every limb in a group of its own, named by its key: ghost first, wood on it, waste dashed."""
    order = sorted(figure.skeleton.courses, key=lambda course: course.limb.kind in STEM_KINDS)
    for course in order:
        key = course.limb.key
        name = f"{figure.options.id_prefix}-limb-{_id_part(key)}"
        with canvas.group(id=name, data_limb=key, class_=f"limb {course.limb.status}"):
            if key in figure.ghosts:
                _paint_ghost(canvas, figure.ghosts[key], figure.options)
            if key in figure.traces:
                _paint_wood(canvas, course, figure)
            if figure.options.tappable:
                _paint_reach(canvas, figure, key)


def _id_part(key: str) -> str:
    return "".join(letter if letter.isalnum() and letter.isascii() else "-" for letter in key)


def _ghost_of(course: Course, skeleton: Skeleton, view: View) -> Trace | None:
    """The line still to be filled: the missing tip of a limb in place, all of a limb that lies elsewhere."""
    limb = course.limb
    if limb.kind in STEM_KINDS and limb.kind == "trunk":
        return None
    if limb.wanted_mm <= limb.length_mm and limb.angle_deg == wanted_angle(limb, skeleton.state.facts.form):
        return None
    if len(course.wanted) < 2:
        return None
    in_place = abs(limb.angle_deg - wanted_angle(limb, skeleton.state.facts.form)) < 3
    line = Trace(tuple(view.place(x, y) for (x, y), _ in course.wanted), tuple(s for _, s in course.wanted))
    gap = view.scale * 2.2
    begin = limb.length_mm + gap if in_place and limb.length_mm > 0 else gap * 0.8
    return line.between(begin, limb.wanted_mm)


def _paint_ghost(canvas: Canvas, ghost: Trace, options: Options) -> None:
    """The outline of a bar: where the limb should be one day."""
    if ghost.paper_length() < 1.2:
        return
    half = GHOST_HEIGHT / 2 * (0.75 if options.compact else 1.0)
    left: list[Point] = []
    right: list[Point] = []
    for index, point in enumerate(ghost.points):
        before, after = ghost.points[max(index - 1, 0)], ghost.points[min(index + 1, len(ghost.points) - 1)]
        tx, ty = unit(after[0] - before[0], after[1] - before[1])
        left.append((point[0] + ty * half, point[1] - tx * half))
        right.append((point[0] - ty * half, point[1] + tx * half))
    outline = "M" + "L".join(at(point) for point in (*left, *reversed(right))) + "Z"
    canvas.add(
        "path", d=outline, fill="none", stroke=options.ink.tie, stroke_width=WIDTH.ghost, stroke_dasharray="1 1",
        class_="ghost",
    )  # fmt: skip


def _paint_wood(canvas: Canvas, course: Course, figure: Figure) -> None:
    key, trace, ink = course.limb.key, figure.traces[course.limb.key], figure.options.ink
    end = min(figure.cuts.get(key, trace.stations[-1]), trace.stations[-1])
    if course.limb.status == "lost":
        stub = trace.between(trace.stations[0], trace.stations[0] + figure.view.scale * 3)
        if stub is not None:
            canvas.add("path", d=tapered_path(stub, figure.tapers[key], key), fill=ink.wood, class_="wood")
        return
    kept = trace if end >= trace.stations[-1] else trace.between(trace.stations[0], end)
    if kept is not None:
        if figure.options.season == "dormant":
            _paint_side_wood(canvas, course, figure, end)
        canvas.add(
            "path", d=tapered_path(kept, _cut_taper(figure, key, trace, kept), key), fill=ink.wood, class_="wood"
        )
    waste = trace.between(max(end, trace.stations[0]), trace.stations[-1]) if end < trace.stations[-1] else None
    if waste is not None:
        canvas.add(
            "path", d="M" + "L".join(at(point) for point in waste.points), fill="none", stroke=ink.off,
            stroke_width=WIDTH.off, stroke_dasharray=DASH_OFF, class_="off",
        )  # fmt: skip


def _cut_taper(figure: Figure, key: str, whole: Trace, kept: Trace) -> Taper:
    taper = figure.tapers[key]
    if kept is whole:
        return taper
    share = kept.paper_length() / max(whole.paper_length(), 1e-6)
    return Taper(taper.base, taper.base + (taper.tip - taper.base) * share, taper.collar)


def _paint_side_wood(canvas: Canvas, course: Course, figure: Figure, end: float) -> None:
    if figure.options.compact and figure.view.scale > 60:
        return
    limb, trace, habit, scale = course.limb, figure.traces[course.limb.key], figure.habit, figure.view.scale
    begin, old_end = _old_wood(limb, figure, end)
    if habit.side_wood != "canes" and old_end > begin:
        places = list(seats(trace, habit, limb.key, scale, begin=begin, end=old_end))
        draw = {"spurs": draw_spurs, "shoots": draw_shoots, "vine": draw_two_bud_spurs}[habit.side_wood]
        draw(canvas, places, habit, limb.key, scale, figure.options)
    if limb.kind == "trunk" or end < trace.stations[-1] or figure.options.compact:
        return
    bud_step = max(80.0, scale * 2.6)
    if old_end < end - bud_step:
        draw_buds(canvas, trace, max(old_end, begin * 0.5) + bud_step / 2, end - bud_step / 2, bud_step, figure.options)


def _old_wood(limb: Limb, figure: Figure, end: float) -> tuple[float, float]:
    """Between which distances a limb carries side wood: not at its very base, not on last season's growth."""
    if limb.kind == "trunk":
        form = figure.state.facts.form
        first = 300.0 if form.endswith("cordon") else limb.length_mm + 1.0
        return first, (end - YOUNG_WOOD_MM if form.endswith("cordon") else 0.0)
    if limb.kind == "cane" or limb.status in ("chosen", "tied"):
        return 0.0, 0.0
    if limb.kind == "leader":
        is_cordon = figure.state.facts.form.endswith("cordon")
        return (300.0 if is_cordon else 1.0), (end - YOUNG_WOOD_MM if is_cordon else 0.0)
    return 110.0, end - min(YOUNG_WOOD_MM, limb.length_mm * 0.45)


def _foliage_of(course: Course, figure: Figure) -> Foliage | None:
    limb = course.limb
    trace = figure.traces.get(limb.key)
    if trace is None or limb.status == "lost":
        return None
    end = min(figure.cuts.get(limb.key, trace.stations[-1]), trace.stations[-1])
    foliage = Foliage(figure.habit, limb.key, figure.view.scale, figure.options)
    begin, old_end = _old_wood(limb, figure, end)
    if limb.kind == "cane":
        begin, old_end = 120.0, end
    grow = {"spurs": foliage.rosette, "shoots": foliage.leafy_shoot, "vine": foliage.vine_shoot}
    action = grow.get(figure.habit.side_wood, foliage.rosette)
    if old_end > begin:
        for seat in seats(trace, figure.habit, limb.key, figure.view.scale, begin=begin, end=old_end):
            action(seat)
    if limb.kind not in ("trunk", "cane") or (limb.kind == "trunk" and _is_alone(figure)):
        start = max(old_end, end - 1.6 * YOUNG_WOOD_MM if old_end <= 0 else old_end, 60.0)
        young = trace.between(start, end)
        if young is not None:
            foliage.tip_leaves(trace, start, end)
    return foliage


def _is_alone(figure: Figure) -> bool:
    return len(figure.traces) == 1


def _paint_reach(canvas: Canvas, figure: Figure, key: str) -> None:
    """An unseen broad line over the limb, for fingers."""
    trace = figure.traces.get(key) or figure.ghosts.get(key)
    if trace is None:
        return
    canvas.add(
        "path", d="M" + "L".join(at(point) for point in trace.points), fill="none", stroke="none", stroke_width=6.0,
        stroke_linecap="round", pointer_events="stroke", class_="reach",
    )  # fmt: skip


def upper_side(way: Point) -> Point:
    """The side of a limb that looks up (or left, where it stands upright)."""
    normal = (way[1], -way[0])
    return normal if normal[1] < -0.05 or (abs(normal[1]) <= 0.05 and normal[0] < 0) else (-normal[0], -normal[1])


def beside(point: Point, way: Point, by: float) -> Point:
    """The point a distance off the upper side of a limb."""
    return moved(point, upper_side(way), by)
