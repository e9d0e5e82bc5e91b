"""Rows one behind the other: a section across them with the sun's ray that sets their distance, and the plan from above."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, radians, sin, tan

from gardens.supports.rows import Rows, RowSpacing
from gardens.units import show_length

from .canvas import Canvas, Point, at, polyline_path
from .dimensions import draw_chain, draw_height
from .frame import Frame, Margins, Reach, fit
from .lettering import CENTRED, LETTER, Face, put_words, shortened, words_width
from .page import document
from .style import Options, Width
from .support import draw_scale_bar
from .words import TITLE_LENGTH, cut

WIDTH = Width()
LEAF_DEPTH_MM = 600
"""How thick a trained row is in leaf; it takes about 0.9 to 1.2 m at most (common practice)."""

MOST_DRAWN = 5
SUN_RADIUS, RAY_BEYOND = 2.6, 10.0


@dataclass(frozen=True, kw_only=True)
class RowsPicture:
    """What is drawn of parallel rows. Lengths in mm; the rows are numbered from left to right across them."""

    rows: Rows
    spacing: RowSpacing
    count: int = 3
    run_mm: int = 10_000
    wire_heights_mm: tuple[int, ...] = ()
    label: str = ""

    def __post_init__(self) -> None:
        if self.count < 2 or self.run_mm <= 0:
            raise ValueError("rows one behind the other are at least two, with a length above zero")

    @property
    def drawn(self) -> int:
        return min(self.count, MOST_DRAWN)

    def ground(self, across_mm: float) -> float:
        """Height of the ground so far to the right of the first row. [mm]"""
        return across_mm * self.rows.rises_percent / 100


def draw_rows_section(picture: RowsPicture, options: Options | None = None) -> str:
    """Across the rows, seen along them: each row with its wires, the ground, the ray that grazes one row and lights
    the next, the distance, and the height from which the next row wants sun."""
    options = options or Options(max_height_mm=80.0)
    wide = picture.spacing.spacing_mm * (picture.drawn - 1)
    ends = (picture.ground(0), picture.ground(wide))
    edge = max(LEAF_DEPTH_MM, 0.35 * picture.spacing.spacing_mm)
    reach = Reach(-edge, min(ends) - 200, wide + edge, max(ends) + picture.rows.height_mm * 1.35)
    frame = fit(reach, Margins(left=17.0, top=5.0, right=8.0, bottom=20.0), options)
    canvas = Canvas()
    _draw_ground(canvas, picture, frame, options)
    for number in range(picture.drawn):
        _draw_row(canvas, picture, number * picture.spacing.spacing_mm, frame, options)
    _draw_ray(canvas, picture, frame, options)
    xs = [frame.view.place(number * picture.spacing.spacing_mm, 0)[0] for number in range(picture.drawn)]
    pieces = [(left, right, float(picture.spacing.spacing_mm)) for left, right in pairwise(xs)]
    draw_chain(canvas, pieces, frame.window.bottom + 4.0, options)
    x, low, high = frame.window.left - 3.0, ends[0], ends[0] + picture.rows.height_mm
    marks = (frame.view.place(0, low)[1], frame.view.place(0, high)[1])
    draw_height(canvas, x, marks, show_length(picture.rows.height_mm, options.units), options)
    bar = draw_scale_bar(canvas, frame, options)
    text = shortened(_foot(picture), frame.width - bar.right - 6.0)
    put_words(canvas, text, (frame.width - 3.0, frame.height - 2.8), options, Face("end", class_="aspect"))
    title = cut(options.title or f"{picture.label or 'Rows'}, section across {picture.count} rows", TITLE_LENGTH)
    return document(canvas.content(), (frame.width, frame.height), (title, _told(picture, options)), options)


def draw_rows_plan(picture: RowsPicture, options: Options | None = None) -> str:
    """From above, north at the top: the rows in their bearing, their distance and length, and where the sun stands."""
    options = options or Options(max_height_mm=80.0)
    corners = [_plan(picture, row, place) for row in (0, picture.count - 1) for place in (0, picture.run_mm)]
    edge = LEAF_DEPTH_MM + 600.0
    reach = Reach(
        min(x for x, _ in corners) - edge,
        min(y for _, y in corners) - edge,
        max(x for x, _ in corners) + edge,
        max(y for _, y in corners) + edge,
    )
    frame = fit(reach, Margins(left=24.0, top=14.0, right=24.0, bottom=18.0), options)
    canvas = Canvas()
    with canvas.group(class_="rows", fill="none", stroke=options.ink.steel):
        for row in range(picture.count):
            _draw_row_from_above(canvas, picture, row, frame, options)
    _draw_north(canvas, frame, options)
    _draw_sun_from_above(canvas, picture, frame, options)
    _write_distance(canvas, picture, frame, options)
    draw_scale_bar(canvas, frame, options)
    title = cut(options.title or f"{picture.label or 'Rows'}, {picture.count} rows from above", TITLE_LENGTH)
    return document(canvas.content(), (frame.width, frame.height), (title, _told(picture, options)), options)


def _draw_ground(canvas: Canvas, picture: RowsPicture, frame: Frame, options: Options) -> None:
    window, rise = frame.window, picture.rows.rises_percent / 100
    zero_x, zero_y = frame.view.zero
    line = tuple((edge, zero_y - (edge - zero_x) * rise) for edge in (window.left, window.right))
    ticks, x = "", window.left + 0.6
    while x + 2.2 < window.right:
        y = zero_y - (x - zero_x) * rise
        ticks += f"M{at((x + 2.2, zero_y - (x + 2.2 - zero_x) * rise))}L{at((x, y + 2.2))}"
        x += 2.6
    with canvas.group(class_="ground", fill="none", stroke=options.ink.steel):
        canvas.add("path", d=ticks, stroke_width=WIDTH.hint)
        canvas.add("path", d=polyline_path(line), stroke_width=WIDTH.ground)


def _draw_row(canvas: Canvas, picture: RowsPicture, across_mm: float, frame: Frame, options: Options) -> None:
    """A post on edge, the wires as points on it, the leaf around it."""
    ink, ground, height = options.ink, picture.ground(across_mm), picture.rows.height_mm
    lit, half = picture.rows.lit_from_mm, LEAF_DEPTH_MM / 2
    leaf = (
        frame.view.place(across_mm - half, ground + lit),
        frame.view.place(across_mm - half * 0.7, ground + height),
        frame.view.place(across_mm + half * 0.7, ground + height),
        frame.view.place(across_mm + half, ground + lit),
    )
    canvas.add(
        "path",
        d=polyline_path(leaf, closed=True),
        fill=ink.leaf_fill_back,
        stroke=ink.leaf,
        stroke_width=WIDTH.leaf,
        stroke_linejoin="round",
        class_="leaf",
    )
    top, foot = frame.view.place(across_mm, ground + height), frame.view.place(across_mm, ground - 200)
    canvas.add("path", d=polyline_path((foot, top)), stroke=ink.steel, stroke_width=0.9, class_="post")
    for wire in picture.wire_heights_mm:
        x, y = frame.view.place(across_mm, ground + wire)
        canvas.add(
            "circle", cx=x, cy=y, r=0.75, fill=ink.paper, stroke=ink.steel, stroke_width=WIDTH.wire, class_="wire"
        )


def _draw_ray(canvas: Canvas, picture: RowsPicture, frame: Frame, options: Options) -> None:
    """From the sun over the top of one row down to where it meets the next one."""
    ray = picture.spacing.ray
    if ray is None:
        return
    from_right = ray.from_right
    shading, lit = (picture.drawn - 1, picture.drawn - 2) if from_right else (0, 1)
    top_x = shading * picture.spacing.spacing_mm
    hit_x = lit * picture.spacing.spacing_mm
    top_y = picture.ground(top_x) + picture.rows.height_mm
    hit_y = top_y - abs(top_x - hit_x) * tan(radians(ray.profile_deg))
    start, hit = frame.view.place(top_x, top_y), frame.view.place(hit_x, hit_y)
    way = (start[0] - hit[0], start[1] - hit[1])
    long = hypot(*way)
    room = _room(start, way, long, frame)
    sun = (start[0] + way[0] / long * room, start[1] + way[1] / long * room)
    edge = (sun[0] - way[0] / long * SUN_RADIUS, sun[1] - way[1] / long * SUN_RADIUS)
    ink = options.ink
    canvas.add(
        "path", d=polyline_path((edge, hit)), fill="none", stroke=ink.off, stroke_width=0.5, stroke_dasharray="2.2 1.2",
        class_="ray",
    )  # fmt: skip
    _draw_sun(canvas, sun, options)
    canvas.add("circle", cx=hit[0], cy=hit[1], r=1.0, fill=ink.off, stroke=ink.paper, stroke_width=0.3, class_="lit")
    text = show_length(max(0, round(hit_y - picture.ground(hit_x))), options.units)
    leaf = frame.view.paper(LEAF_DEPTH_MM / 2) + 2.0
    x = hit[0] + (-leaf if from_right else leaf + words_width(text) + 1.6)
    draw_height(canvas, x, (frame.view.place(0, picture.ground(hit_x))[1], hit[1]), text, options)


def _room(start: Point, way: Point, long: float, frame: Frame) -> float:
    """How far beyond the top the sun can stand on the sheet."""
    limits = [RAY_BEYOND + SUN_RADIUS]
    inner = frame.sheet.grown(-SUN_RADIUS - 2.0)
    if way[0]:
        limits.append(((inner.right if way[0] > 0 else inner.left) - start[0]) / (way[0] / long))
    if way[1] < 0:
        limits.append((inner.top - start[1]) / (way[1] / long))
    return max(SUN_RADIUS, min(limits))


def _draw_sun(canvas: Canvas, where: Point, options: Options) -> None:
    ink = options.ink
    canvas.add(
        "circle",
        cx=where[0],
        cy=where[1],
        r=SUN_RADIUS * 0.6,
        fill=ink.band,
        stroke=ink.off,
        stroke_width=0.5,
        class_="sun",
    )
    rays = "".join(
        f"M{at((where[0] + 1.9 * cos(radians(a)), where[1] + 1.9 * sin(radians(a))))}"
        f"L{at((where[0] + SUN_RADIUS * cos(radians(a)), where[1] + SUN_RADIUS * sin(radians(a))))}"
        for a in range(0, 360, 45)
    )
    canvas.add("path", d=rays, fill="none", stroke=ink.off, stroke_width=0.4)


def _plan(picture: RowsPicture, row: float, along_mm: float) -> Point:
    """East and north of the first row's beginning. Rows follow each other to the right of their bearing. [mm]"""
    bearing = radians(picture.rows.runs_deg)
    across = row * picture.spacing.spacing_mm
    return (
        along_mm * sin(bearing) + across * cos(bearing),
        along_mm * cos(bearing) - across * sin(bearing),
    )


def _draw_row_from_above(canvas: Canvas, picture: RowsPicture, row: int, frame: Frame, options: Options) -> None:
    ink, half = options.ink, LEAF_DEPTH_MM / 2 / picture.spacing.spacing_mm
    band = [
        frame.view.place(*_plan(picture, row + side * half, place))
        for side, place in ((-1, 0), (-1, picture.run_mm), (1, picture.run_mm), (1, 0))
    ]
    canvas.add(
        "path", d=polyline_path(band, closed=True), fill=ink.leaf_fill_back, stroke=ink.leaf, stroke_width=WIDTH.leaf,
        class_="leaf",
    )  # fmt: skip
    ends = [frame.view.place(*_plan(picture, row, place)) for place in (0, picture.run_mm)]
    canvas.add("path", d=polyline_path(ends), stroke_width=0.5, class_="row")
    for x, y in ends:
        canvas.add("circle", cx=x, cy=y, r=0.9, fill=ink.steel, stroke="none", class_="post")


def _draw_north(canvas: Canvas, frame: Frame, options: Options) -> None:
    x, y = frame.width - 8.0, 12.0
    arrow = ((x - 1.6, y), (x, y - 7.0), (x + 1.6, y), (x, y - 1.4))
    canvas.add("path", d=polyline_path(arrow, closed=True), fill=options.ink.steel, class_="north")
    put_words(canvas, "N", (x, y + LETTER), options, CENTRED)


def _draw_sun_from_above(canvas: Canvas, picture: RowsPicture, frame: Frame, options: Options) -> None:
    """Where the deciding sun stands, at the edge of the sheet, its ray pointing to the middle."""
    ray = picture.spacing.ray
    if ray is None:
        return
    bearing = radians(ray.sun.bearing_deg)
    east, north = sin(bearing), cos(bearing)
    inner = frame.sheet.grown(-SUN_RADIUS - 2.0)
    middle = ((frame.window.left + frame.window.right) / 2, (frame.window.top + frame.window.bottom) / 2)
    limits = []
    if abs(east) > 1e-6:
        limits.append(((inner.right if east > 0 else inner.left) - middle[0]) / east)
    if abs(north) > 1e-6:
        limits.append((middle[1] - (inner.top if north > 0 else inner.bottom - 6.0)) / north)
    far = min(limits)
    sun = (middle[0] + east * far, middle[1] - north * far)
    tip = (middle[0] + east * far * 0.45, middle[1] - north * far * 0.45)
    edge = (sun[0] - east * SUN_RADIUS, sun[1] + north * SUN_RADIUS)
    canvas.add(
        "path", d=polyline_path((edge, tip)), fill="none", stroke=options.ink.off, stroke_width=0.5,
        stroke_dasharray="2.2 1.2", class_="ray",
    )  # fmt: skip
    _draw_sun(canvas, sun, options)


def _write_distance(canvas: Canvas, picture: RowsPicture, frame: Frame, options: Options) -> None:
    """The distance of the first two rows, beyond their ends; bearing and length at the foot."""
    ends = [frame.view.place(*_plan(picture, row, picture.run_mm + 3.0 * frame.view.scale)) for row in (0, 1)]
    steel = options.ink.steel
    line = polyline_path(ends)
    for x, y in ends:
        line += polyline_path(((x - 0.7, y + 0.7), (x + 0.7, y - 0.7)))
    canvas.add("path", d=line, fill="none", stroke=steel, stroke_width=WIDTH.hint, class_="dimension")
    text = show_length(picture.spacing.spacing_mm, options.units)
    bearing = radians(picture.rows.runs_deg)
    beyond = 1.5 + abs(sin(bearing)) * words_width(text) / 2 + abs(cos(bearing)) * LETTER / 2
    x = (ends[0][0] + ends[1][0]) / 2 + sin(bearing) * beyond
    y = (ends[0][1] + ends[1][1]) / 2 - cos(bearing) * beyond
    put_words(canvas, text, (x, y + LETTER * 0.35), options, CENTRED)
    foot = f"{picture.count} rows of {show_length(picture.run_mm, options.units)}, running {picture.rows.runs_deg:.0f}°"
    put_words(canvas, foot, (frame.width - 3.0, frame.height - 2.8), options, Face("end", class_="aspect"))


def _foot(picture: RowsPicture) -> str:
    ray = picture.spacing.ray
    rise = picture.rows.rises_percent
    slope = f"ground {'rises' if rise > 0 else 'falls'} {abs(rise):g} % to the right" if rise else ""
    sun = ""
    if ray is not None:
        day = f"{picture.rows.day.day} {picture.rows.day:%B}"
        sun = f"sun {ray.sun.altitude_deg:.0f}° high {_hours(ray.hours_from_noon)}, {day}"
    return " · ".join(part for part in (sun, slope) if part)


def _hours(hours_from_noon: float) -> str:
    minutes = round(abs(hours_from_noon) * 60)
    if minutes < 3:
        return "at noon"
    return f"{minutes // 60} h {minutes % 60:02} {'before' if hours_from_noon < 0 else 'after'} noon"


def _told(picture: RowsPicture, options: Options) -> str:
    units = options.units
    return (
        f"{picture.count} rows, {show_length(picture.rows.height_mm, units)} high, "
        f"{show_length(picture.spacing.spacing_mm, units)} apart, running {picture.rows.runs_deg:.0f}°. "
        f"{picture.spacing.why} {_foot(picture)}"
    ).strip()
