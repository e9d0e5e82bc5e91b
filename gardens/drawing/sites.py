"""Where on the paper each mark sits: a mark names a limb (or a tier, or the whole tree); here it becomes points."""

from __future__ import annotations

from collections.abc import Iterable
from math import cos, radians, sin

from gardens.training.state import Limb

from .canvas import Point
from .figure import Figure, beside, tier_keys, upper_side
from .frame import Frame
from .geometry import Trace, moved, unit
from .ground import Ground, Site, at_post, in_order, on_wire
from .marks import Mark
from .skeleton import STEM_KINDS
from .support import SupportPicture
from .symbols import Symbol, symbol_of

MANY = {"renew_ties": 6, "remove_ties": 6, "tie_in": 6, "lower_arms": 6, "shorten_arms": 6, "select_shoots": 6,
        "winter_prune": 3, "summer_prune": 3, "pinch": 3, "thin_spurs": 2}  # fmt: skip
"""On how many limbs a mark for the whole tree is shown; once where not listed."""

WISHES = {"ring with dot": 0.62, "half-filled ring": 0.55, "struck ring": 0.55, "bar and wedge": 0.85,
          "diamond": 0.4, "broken ring": 0.12, "open hook": 0.55}  # fmt: skip
"""Where along a limb a mark would like to sit (share of the length); in the middle where not listed."""

SHIFTS = (0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3, 0.4, -0.4)
LEAST_SWEEP_DEG = 8.0
"""A limb that already lies this near to its aim still shows an arc: it will be raised before it is lowered."""


def set_marks(marks: Iterable[Mark], figure: Figure, support: SupportPicture, frame: Frame) -> list[Site]:
    """All places of all marks that lie within the window; marks that say where keep their place, others make room."""
    ground = Ground(support, frame, support.zero_mm)
    for mark in in_order(marks):
        ground.set(_sites_of(mark, figure, ground))
    return ground.sites


def _sites_of(mark: Mark, figure: Figure, ground: Ground) -> list[Site]:
    symbol = symbol_of(mark.kind)
    x, y = figure.view.place(0, 0)
    if symbol.place == "foot" or not figure.traces:
        return [ground.first_free(mark, symbol, [(x + 7.0 * k, y - 3.4) for k in (1, -1, 2, -2, 3, -3, 4, -4)])]
    if symbol.place == "above":
        top = max(min(trace.end[1] for trace in figure.traces.values()) - 2.0, ground.frame.window.top + 3.5)
        return [ground.first_free(mark, symbol, [(x + 7.0 * step, top) for step in (1, -1, 2, -2, 3)])]
    if symbol.place == "wire":
        return [on_wire(mark, symbol, ground)]
    if symbol.place == "post":
        return [at_post(mark, symbol, ground)]
    return [_on_limb(mark, symbol, (figure, ground), key) for key in _limb_keys(mark, figure)]


def _limb_keys(mark: Mark, figure: Figure) -> list[str]:
    """The limbs a mark speaks of, those that are there (or wanted) on paper."""
    drawn = {**figure.ghosts, **figure.traces}
    if mark.limb in drawn:
        return [mark.limb]
    if keys := [key for key in tier_keys(figure.state, mark.limb) if key in drawn]:
        return keys
    parent = _parent_of_side_wood(mark.limb, drawn)
    if parent:
        return [parent]
    return _prominent(mark, figure)


def _parent_of_side_wood(key: str, drawn: dict[str, Trace]) -> str:
    """The limb that side wood named after it grows from ("spur:1:left:4" → "arm:1:left"), or ""."""
    rest = key.split(":")[1:]
    for length in range(len(rest), 0, -1):
        name = ":".join(rest[:length])
        for candidate in (name, f"arm:{name}", f"rib:{name}", f"rod:{name}", f"axis:{name}", f"cane:{name}"):
            if candidate in drawn:
                return candidate
    return ""


def _prominent(mark: Mark, figure: Figure) -> list[str]:
    """For the whole tree: the trunk for low shoots, tied limbs for ties, else the longest limbs on both sides."""
    traces = figure.traces
    stem = [key for key in traces if (limb := figure.limb(key)) and limb.kind in STEM_KINDS]
    others = sorted((key for key in traces if key not in stem), key=lambda key: -traces[key].length)
    many = MANY.get(mark.kind, 1)
    if mark.kind in ("remove_low_shoots", "rub_out"):
        return stem[:1] or others[:1]
    if mark.kind == "head_back" and stem:
        return stem[-1:]
    if mark.kind in ("renew_ties", "remove_ties"):
        tied = [key for key in traces if any(tie.limb == key for tie in figure.state.ties)]
        return (tied or others or stem)[:many]
    return (_spread(others, figure, many) or stem)[:many]


def _spread(keys: list[str], figure: Figure, many: int) -> list[str]:
    """Long limbs that lie apart: one per height first, sides in turn."""
    chosen: list[str] = []
    for key in keys:
        limb = figure.limb(key)
        if limb is None or any(_is_near(limb.key, other, figure) for other in chosen):
            continue
        chosen.append(key)
        if len(chosen) == many:
            return chosen
    return chosen + [key for key in keys if key not in chosen][: many - len(chosen)]


def _is_near(key: str, other: str, figure: Figure) -> bool:
    a, b = figure.traces[key], figure.traces[other]
    ax, ay = a.point_at(a.length / 2)
    bx, by = b.point_at(b.length / 2)
    return abs(ax - bx) < 14 and abs(ay - by) < 14


def _on_limb(mark: Mark, symbol: Symbol, scene: tuple[Figure, Ground], key: str) -> Site:
    """The mark on its limb; where it may choose, at the nearest station that is clear of other marks."""
    figure, ground = scene
    if mark.kind == "lower_arms":
        return _sweep(mark, symbol, scene, key)
    if key not in figure.traces:
        return _on_wanted(mark, symbol, scene, key)
    trace = figure.traces[key]
    first, last = max(trace.stations[0], 0.0), trace.stations[-1]
    wish = _station(mark, symbol, figure, key, trace)
    shifts = (0.0,) if mark.at_mm is not None or symbol.place == "tip" else SHIFTS
    usual: Site | None = None
    for shift in shifts:
        station = wish + shift * (last - first)
        if not first <= station <= last:
            continue
        way = trace.heading_at(station, figure.view.scale * 3)
        site = _dressed(mark, symbol, figure, (key, trace.point_at(station), way))
        if ground.is_free(site.point, symbol.radius):
            return site
        usual = usual or site
    return usual or _dressed(mark, symbol, figure, (key, trace.end, trace.heading_at(last, figure.view.scale * 3)))


def _on_wanted(mark: Mark, symbol: Symbol, scene: tuple[Figure, Ground], key: str) -> Site:
    """The mark of a limb that is still a bud: near its place on the stem, a thin line showing how it is to run."""
    figure, ground = scene
    limb = figure.limb(key) or Limb(key=key, kind="arm")
    angle = mark.to_angle_deg if mark.to_angle_deg is not None else limb.angle_deg
    if len(limb.course_mm) > 1:
        (ax, ay), (bx, by) = limb.course_mm[:2]
        way = unit(bx - ax, ay - by)
    else:
        way = (cos(radians(angle)) * (limb.side or 1), -sin(radians(angle)))
    origin = figure.view.place(limb.origin_x_mm, limb.origin_y_mm)
    near = 5.0 if symbol.name == "struck triangle" else min(max(figure.view.paper(320), 8.5), 15.0)
    spots = [moved(origin, way, near + step) for step in (0.0, 4.5, 9.0, 13.5)]
    point = next((spot for spot in spots if ground.is_free(spot, symbol.radius)), spots[0])
    line = (moved(origin, way, 1.5), point) if symbol.place == "tip" or symbol.name == "ring with dot" else ()
    return Site(mark, symbol, point, way, sweep=line)


def _dressed(mark: Mark, symbol: Symbol, figure: Figure, place: tuple[str, Point, Point]) -> Site:
    """The mark at a point of a limb, beside it or on a shoot of its own as its shape asks."""
    key, point, way = place
    if symbol.place == "side_wood":
        return _on_shoot(mark, symbol, figure, key, (point, way))
    if symbol.name in ("bracket", "bracket and balls"):
        up = upper_side(way)
        return Site(mark, symbol, moved(point, up, 4.2), (-up[1], up[0]))
    if symbol.name == "wall and cross":
        return Site(mark, symbol, beside(point, way, 4.4), way)
    if symbol.name == "basket":
        return Site(mark, symbol, beside(point, way, -4.6), way)
    return Site(mark, symbol, point, way)


def _station(mark: Mark, symbol: Symbol, figure: Figure, key: str, trace: Trace) -> float:
    """The distance along the limb at which a mark sits or would like to sit [mm]."""
    limb = figure.limb(key)
    first, last = max(trace.stations[0], 0.0), trace.stations[-1]
    if mark.at_mm is not None and limb is not None:
        station = float(mark.at_mm)
        if limb.kind in STEM_KINDS:
            station = (mark.at_mm - limb.origin_y_mm) / max(sin(radians(limb.angle_deg)), 0.2)
        return min(max(station, first), last)
    if symbol.place == "tip":
        return last
    name = mark.limb.rpartition(":")[2]
    if mark.limb.split(":")[0] in ("spur", "lateral", "shoot") and name.isdigit():
        return min(first + int(name) * 130.0, last)
    if limb is not None and limb.kind == "trunk" and mark.kind in ("remove_low_shoots", "rub_out"):
        lowest = min((c.limb.origin_y_mm for c in figure.skeleton.courses if c.limb.origin_y_mm > 0), default=last)
        return min(lowest, last) * 0.5
    return first + (last - first) * WISHES.get(symbol.name, 0.5)


def _on_shoot(mark: Mark, symbol: Symbol, figure: Figure, key: str, place: tuple[Point, Point]) -> Site:
    """A shoot drawn for the mark: the cross sits at its base, the hook where it is pinched."""
    (point, way), limb = place, figure.limb(key)
    up = upper_side(way)
    long = min(max(figure.view.paper(300), 8.5), 13.0)
    if limb is not None and limb.kind in STEM_KINDS:
        lean = unit(up[0] + 0.75 * way[0], up[1] + 0.75 * way[1])
    else:
        lean = unit(up[0] + 0.28 * way[0], up[1] + 0.28 * way[1])
    tip = moved(point, lean, long)
    if symbol.name == "cross":
        return Site(mark, symbol, moved(point, lean, 1.6), lean, (point, tip))
    return Site(mark, symbol, moved(point, lean, long * 0.45), lean, (point, tip))


def _sweep(mark: Mark, symbol: Symbol, scene: tuple[Figure, Ground], key: str) -> Site:
    """The arc along which a limb is brought, an arrow head at its end; a stem bends where the wire crosses it."""
    figure, ground = scene
    limb = figure.limb(key) or Limb(key=key, kind="arm")
    target = mark.to_angle_deg if mark.to_angle_deg is not None else (limb.wanted_angle_deg or 0.0)
    pivot, grown = float(limb.origin_y_mm), float(limb.length_mm)
    if limb.kind in STEM_KINDS:
        wires = [height for height in ground.support.wire_heights_mm if height > pivot]
        bend = float(mark.at_mm) if mark.at_mm is not None else min(wires, default=pivot)
        pivot, grown = bend, max(grown - (bend - pivot), 0.0)
    centre = figure.view.place(limb.origin_x_mm, pivot)
    radius = max(figure.view.paper(min(grown * 0.72, 900)), 9.0)
    start, side = limb.angle_deg, limb.side or 1
    if abs(start - target) < LEAST_SWEEP_DEG:
        start = target + 40.0
    points = []
    for step in range(9):
        angle = radians(start + (target - start) * step / 8)
        points.append((centre[0] + side * cos(angle) * radius, centre[1] - sin(angle) * radius))
    way = unit(points[-1][0] - points[-2][0], points[-1][1] - points[-2][1])
    back = moved(points[-1], way, -1.6)
    return Site(mark, symbol, back, (way[1], -way[0]), sweep=tuple(points[:-1]))
