"""Where on the paper each mark sits: a mark names a limb (or a tier, or the whole tree); here it becomes points."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from .canvas import Point
from .figure import Figure, beside, upper_side
from .frame import Frame
from .geometry import Trace, moved, unit
from .marks import Mark
from .skeleton import STEM_KINDS
from .support import SupportPicture
from .symbols import Symbol, symbol_of

MANY = {"renew_ties": 6, "remove_ties": 6, "tie_in": 6, "lower_arms": 6, "shorten_arms": 6, "select_shoots": 6,
        "winter_prune": 3, "summer_prune": 3, "pinch": 3, "thin_spurs": 2}  # fmt: skip
"""On how many limbs a mark for the whole tree is shown; once where not listed."""


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


def sites_of(mark: Mark, figure: Figure, support: SupportPicture, frame: Frame, nth: int) -> list[Site]:
    """All places of one mark; ``nth`` keeps marks at the foot of the tree apart."""
    symbol = symbol_of(mark.kind)
    if symbol.place == "foot" or not figure.traces:
        ground = figure.view.place(0, 0)
        return [Site(mark, symbol, (ground[0] + 7.0 + 9.0 * nth, ground[1] - 3.2), (1.0, 0.0))]
    if symbol.place == "above":
        top = min(trace.end[1] for trace in figure.traces.values())
        x = figure.view.place(0, 0)[0]
        return [Site(mark, symbol, (x + 7.0, max(top - 2.0, frame.window.top + 3.5)), (1.0, 0.0))]
    if symbol.place == "wire":
        return [_on_wire(mark, symbol, figure, support, frame)]
    if symbol.place == "post":
        x = frame.window.left + 6.0
        y = figure.view.place(0, support.height_mm * 0.62)[1]
        return [Site(mark, symbol, (x, max(y, frame.window.top + 4)), (1.0, 0.0))]
    keys = _limb_keys(mark, figure)
    return [_on_limb(mark, symbol, figure, key) for key in keys]


def _on_wire(mark: Mark, symbol: Symbol, figure: Figure, support: SupportPicture, frame: Frame) -> Site:
    heights = support.wire_heights_mm or (support.height_mm // 2,)
    place = mark.limb.partition(":")[2]
    index = int(place) - 1 if place.isdigit() and 0 < int(place) <= len(heights) else len(heights) - 1
    y = figure.view.place(0, heights[index])[1]
    x = frame.window.left + 0.18 * frame.window.width
    return Site(mark, symbol, (x, y), (1.0, 0.0))


def _limb_keys(mark: Mark, figure: Figure) -> list[str]:
    """The limbs a mark speaks of, those that are there (or wanted) on paper."""
    drawn = {**figure.ghosts, **figure.traces}
    if mark.limb in drawn:
        return [mark.limb]
    if mark.limb.startswith("tier:"):
        tier = mark.limb.partition(":")[2]
        keys = [key for key in drawn if key.startswith(f"arm:{tier}:")]
        if keys:
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


def _on_limb(mark: Mark, symbol: Symbol, figure: Figure, key: str) -> Site:
    trace = figure.traces.get(key) or figure.ghosts[key]
    station = _station(mark, symbol, figure, key, trace)
    point, way = trace.point_at(station), trace.heading_at(station, figure.view.scale * 3)
    if mark.kind == "lower_arms":
        return _sweep(mark, symbol, figure, key, trace)
    if symbol.place == "side_wood":
        return _on_shoot(mark, symbol, figure, key, (point, way))
    if symbol.name in ("bracket", "bracket and balls"):
        up = upper_side(way)
        along = (-up[1], up[0])
        return Site(mark, symbol, moved(point, up, 4.2), along)
    if symbol.name == "wall and cross":
        return Site(mark, symbol, beside(point, way, 4.4), way)
    if symbol.name == "basket":
        return Site(mark, symbol, beside(point, way, -4.6), way)
    return Site(mark, symbol, point, way)


def _station(mark: Mark, symbol: Symbol, figure: Figure, key: str, trace: Trace) -> float:
    """The distance along the limb at which a mark sits [mm]."""
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
    share = {"ring with dot": 0.62, "half-filled ring": 0.55, "struck ring": 0.55, "bar and wedge": 0.85,
             "diamond": 0.4, "broken ring": 0.12, "cross": 0.5, "open hook": 0.55}.get(symbol.name, 0.5)  # fmt: skip
    if limb is not None and limb.kind == "trunk" and mark.kind in ("remove_low_shoots", "rub_out"):
        share = 0.45
    return first + (last - first) * share


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


def _sweep(mark: Mark, symbol: Symbol, figure: Figure, key: str, trace: Trace) -> Site:
    """The arc along which a limb is brought, an arrow head at its end."""
    limb = figure.limb(key)
    if limb is None:
        return Site(mark, symbol, trace.end, (1.0, 0.0))
    target = mark.to_angle_deg if mark.to_angle_deg is not None else (limb.wanted_angle_deg or 0.0)
    centre = figure.view.place(limb.origin_x_mm, limb.origin_y_mm)
    radius = figure.view.paper(min(limb.length_mm * 0.72, 900))
    start, side = limb.angle_deg, limb.side or 1
    points = []
    for step in range(9):
        angle = radians(start + (target - start) * step / 8)
        points.append((centre[0] + side * cos(angle) * radius, centre[1] - sin(angle) * radius))
    way = unit(points[-1][0] - points[-2][0], points[-1][1] - points[-2][1])
    back = moved(points[-1], way, -1.6)
    return Site(mark, symbol, back, (way[1], -way[0]), sweep=tuple(points[:-1]))
