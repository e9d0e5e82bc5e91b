"""The support in elevation: ground, wall or fence or posts, wires with their heights, scale bar and aspect."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gardens.training.state import TreeFacts
from gardens.units import Units, show_length

from .canvas import Canvas, Point, at, polyline_path
from .frame import Frame, Reach
from .geometry import Box, grain
from .lettering import LETTER, Face, put_words, shortened, words_width
from .style import Options, Width

SupportKind = Literal["wall", "fence", "post_and_wire"]
WIDTH = Width()
POST_MM = 80
BELOW_GROUND_MM = 130


@dataclass(frozen=True, kw_only=True)
class SupportPicture:
    """What of a support is drawn. Lengths in mm; places along it count from its left end, as the worker faces it.

    ``post_positions_mm`` are posts (or, on a wall, the eyes that carry the wires). ``trunk_x_mm`` is where the tree of
    a single-tree picture stands; None puts it where its own runs say. ``aspect`` is written as given ("faces SW").
    ``post_depth_mm`` is what of a post stands in the ground (shown in a layout only).
    """

    kind: SupportKind = "post_and_wire"
    run_mm: int = 4000
    height_mm: int = 1800
    wire_heights_mm: tuple[int, ...] = ()
    post_positions_mm: tuple[int, ...] = ()
    aspect: str = ""
    label: str = ""
    trunk_x_mm: int | None = None
    post_depth_mm: int = 0

    def __post_init__(self) -> None:
        if self.run_mm <= 0 or self.height_mm <= 0:
            raise ValueError("a support needs a run and a height above zero")

    @classmethod
    def for_tree(cls, facts: TreeFacts, kind: SupportKind = "post_and_wire", aspect: str = "") -> SupportPicture:
        """The stretch of support one tree has to itself."""
        run = max(facts.run_left_mm + facts.run_right_mm, 400)
        return cls(
            kind=kind,
            run_mm=run,
            height_mm=facts.height_mm,
            wire_heights_mm=facts.wire_heights_mm,
            aspect=aspect,
            trunk_x_mm=facts.run_left_mm if facts.run_left_mm + facts.run_right_mm >= 400 else run // 2,
        )

    @property
    def zero_mm(self) -> int:
        """The place of x = 0 of a single tree along the support."""
        return self.trunk_x_mm if self.trunk_x_mm is not None else self.run_mm // 2

    def posts(self) -> tuple[int, ...]:
        """Post positions, or the two ends where none are known."""
        return self.post_positions_mm or (0, self.run_mm)

    def reach(self, zero_mm: int) -> Reach:
        """The rectangle of the support, x counted from ``zero_mm`` along it."""
        top = max(self.height_mm, *self.wire_heights_mm, 0) + (0 if self.kind == "post_and_wire" else 40)
        return Reach(-zero_mm, -BELOW_GROUND_MM, self.run_mm - zero_mm, top)


def draw_ground(canvas: Canvas, frame: Frame, options: Options) -> None:
    """The ground line with its hatching."""
    ink, window = options.ink, frame.window
    y = frame.view.place(0, 0)[1]
    bold = options.boldness
    depth = min(2.2, window.bottom - y)
    ticks: list[str] = []
    x = window.left + 0.6
    while x + depth < window.right + 1e-6 and depth > 0.8:
        ticks.append(f"M{at((x + depth, y))}L{at((x, y + depth))}")
        x += 2.6 if not options.compact else 1.8
    with canvas.group(class_="ground", fill="none", stroke=ink.steel):
        canvas.add("path", d="".join(ticks) or None, stroke_width=WIDTH.hint) if ticks else None
        canvas.add("path", d=f"M{at((window.left, y))}L{at((window.right, y))}", stroke_width=WIDTH.ground * bold)


def draw_structure(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, zero_mm: int) -> None:
    """Wall, fence or posts, and the wires on them. ``zero_mm`` is the place along the support of x = 0."""
    with canvas.group(class_="support", fill="none", stroke=options.ink.steel):
        if picture.kind == "wall":
            _draw_wall(canvas, picture, frame, options, zero_mm)
        elif picture.kind == "fence":
            _draw_fence(canvas, picture, frame, options, zero_mm)
        else:
            _draw_posts(canvas, picture, frame, options, zero_mm)
        _draw_wires(canvas, picture, frame, options, zero_mm)


def _span(picture: SupportPicture, frame: Frame, zero_mm: int) -> tuple[float, float, bool, bool]:
    """Left and right of the support within the window, and whether its own ends are seen."""
    window = frame.window
    left, right = (frame.view.place(x - zero_mm, 0)[0] for x in (0, picture.run_mm))
    return max(left, window.left), min(right, window.right), left >= window.left - 0.01, right <= window.right + 0.01


def _draw_wall(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, zero_mm: int) -> None:
    """Coursing in patches, a coping stone on top, ends only where the wall ends within the window."""
    left, right, has_left, has_right = _span(picture, frame, zero_mm)
    ground = frame.view.place(0, 0)[1]
    built = frame.view.place(0, picture.height_mm)[1]
    top, has_top = max(built, frame.window.top), built >= frame.window.top - 0.01
    cope = min(max(frame.view.paper(60), 1.0), 2.4)
    bricks = _bricks(frame, Box(left, top + cope, right, ground))
    canvas.add("path", d=bricks, stroke=options.ink.hint, stroke_width=WIDTH.hint, class_="hint")
    over = min(0.8, left - 0.3)
    first, last = (left - over if has_left else left), (right + over if has_right else right)
    lines = (
        f"M{at((first, top))}L{at((last, top))}M{at((first, top + cope))}L{at((last, top + cope))}" if has_top else ""
    )
    for is_end, x, edge in ((has_left, left, first), (has_right, right, last)):
        if is_end and has_top:
            lines += f"M{at((x, ground))}L{at((x, top + cope))}M{at((edge, top + cope))}L{at((edge, top))}"
        elif is_end:
            lines += f"M{at((x, ground))}L{at((x, top))}"
    if not lines:
        return
    canvas.add("path", d=lines, stroke_width=WIDTH.post * options.boldness, stroke_linecap="square")


def _bricks(frame: Frame, face: Box) -> str:
    """A few patches of coursing: enough to say masonry, not enough to compete with the tree."""
    left, top, right, ground = face.left, face.top, face.right, face.bottom
    course = max(frame.view.paper(75), 2.0)
    brick = course * 3
    rows = int((ground - top) / course)
    data: list[str] = []
    for row in range(rows):
        y = ground - row * course
        start = left + (0 if row % 2 else brick / 2)
        columns = int((right - start) / brick)
        for column in range(columns):
            middle = (column + 0.5) / max(columns, 1)
            edge = min(middle, 1 - middle) * 2
            height = row / max(rows, 1)
            wish = 0.55 - edge * 1.9 - 0.25 * abs(height - 0.5)
            patch = grain(f"patch {column // 3} {row // 4}", 1)
            if wish + patch * 0.55 < 0.42 or grain(f"brick {column} {row}", 2) < 0.25:
                continue
            x = start + column * brick
            data.append(f"M{at((x, y))}L{at((x + brick, y))}M{at((x, y))}L{at((x, y - course))}")
    return "".join(data) or f"M{at((left, ground))}L{at((left, ground))}"


def _draw_fence(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, zero_mm: int) -> None:
    left, right, has_left, has_right = _span(picture, frame, zero_mm)
    ground = frame.view.place(0, 0)[1]
    built = frame.view.place(0, picture.height_mm)[1]
    top, has_top = max(built, frame.window.top), built >= frame.window.top - 0.01
    board = max(frame.view.paper(150), 2.6)
    boards: list[str] = []
    x, index = left + board, 0
    while x < right - board * 0.4:
        long = (ground - top) * (0.06 + 0.1 * grain(f"board {index}", 1))
        foot = (ground - top) * (0.05 + 0.09 * grain(f"board {index}", 2))
        boards.append(f"M{at((x, top))}L{at((x, top + long))}M{at((x, ground - foot))}L{at((x, ground))}")
        x += board
        index += 1
    hint = options.ink.hint
    canvas.add("path", d="".join(boards), stroke=hint, stroke_width=WIDTH.hint, class_="hint") if boards else None
    sides = f"M{at((left, top))}L{at((right, top))}" if has_top else ""
    sides += f"M{at((left, ground))}L{at((left, top))}" if has_left else ""
    sides += f"M{at((right, ground))}L{at((right, top))}" if has_right else ""
    if sides:
        canvas.add("path", d=sides, stroke_width=WIDTH.post * options.boldness)
    for position in picture.post_positions_mm:
        _post(canvas, position - zero_mm, picture.height_mm, frame, options)


def _draw_posts(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, zero_mm: int) -> None:
    for position in picture.posts():
        _post(canvas, position - zero_mm, picture.height_mm, frame, options)


def _post(canvas: Canvas, x_mm: float, height_mm: float, frame: Frame, options: Options) -> None:
    half = max(frame.view.paper(POST_MM), 1.4) / 2
    x, top = frame.view.place(x_mm, height_mm)
    ground = frame.view.place(0, 0)[1]
    window = frame.window
    if x + half > window.right + 2 or x - half < window.left - 2:
        return
    top = max(top, window.top)
    foot = min(ground + 1.6, window.bottom)
    canvas.add(
        "path",
        d=f"M{at((x - half, foot))}L{at((x - half, top))}L{at((x, top - min(0.5, half)))}L{at((x + half, top))}"
        f"L{at((x + half, foot))}",
        fill=options.ink.paper,
        stroke_width=WIDTH.post * options.boldness,
        stroke_linejoin="round",
    )


def _draw_wires(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, zero_mm: int) -> None:
    left, right, _, _ = _span(picture, frame, zero_mm)
    data: list[str] = []
    for height in picture.wire_heights_mm:
        y = frame.view.place(0, height)[1]
        if frame.window.top - 0.01 <= y <= frame.window.bottom:
            data.append(f"M{at((left, y))}L{at((right, y))}")
    if data:
        width = WIDTH.wire * (0.85 if options.compact else 1.0)
        canvas.add("path", d="".join(data), stroke=options.ink.steel, stroke_width=width, class_="wire")
    if picture.kind == "post_and_wire" or options.compact:
        return
    eyes = picture.post_positions_mm or (60, picture.run_mm - 60)
    for height in picture.wire_heights_mm:
        for position in eyes:
            x, y = frame.view.place(position - zero_mm, height)
            if frame.window.holds((x, y)) and left <= x <= right:
                canvas.add("circle", cx=x, cy=y, r=0.55, fill=options.ink.paper, stroke_width=WIDTH.wire)


def write_wire_heights(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options) -> list[Box]:
    """Wire heights at the right end, each on its wire; where wires are close together, only those that fit."""
    taken: list[Box] = []
    heights = sorted(h for h in picture.wire_heights_mm if _is_seen(frame, h))
    ordered = [heights[0], heights[-1], *heights[1:-1]] if len(heights) > 1 else heights
    for height in ordered:
        text = show_length(height, options.units)
        y = frame.view.place(0, height)[1]
        x = frame.window.right + 1.4
        box = Box(x, y - LETTER * 0.55, x + words_width(text), y + LETTER * 0.5)
        if any(box.overlaps(other) for other in taken) or box.right > frame.width:
            continue
        put_words(canvas, text, (x, y + LETTER * 0.35), options, Face(class_="height"))
        taken.append(box)
    return taken


def _is_seen(frame: Frame, height: float) -> bool:
    y = frame.view.place(0, height)[1]
    return frame.window.top - 0.01 <= y <= frame.window.bottom


def draw_scale_bar(canvas: Canvas, frame: Frame, options: Options) -> Box:
    """A bar of one metre (or three feet), half black, half white, with the scale named on paper."""
    length_mm, text = _bar_length(frame, options.units)
    long = frame.view.paper(length_mm)
    ink = options.ink
    x, y = frame.window.left, frame.height - 4.6
    half = long / 2
    canvas.add("path", d=_rectangle(x, y, half, 1.2), fill=ink.wood, stroke=ink.wood, stroke_width=WIDTH.hint)
    canvas.add("path", d=_rectangle(x + half, y, half, 1.2), fill=ink.paper, stroke=ink.wood, stroke_width=WIDTH.hint)
    if not options.is_for_screen:
        text += f" · scale 1:{frame.view.scale:.0f}"
    text = shortened(text, frame.width - x - long - 2.0)
    put_words(canvas, text, (x + long + 1.5, y + 1.8), options)
    return Box(x, y - 0.5, x + long + 2 + words_width(text), y + 2)


def _bar_length(frame: Frame, units: Units) -> tuple[float, str]:
    choices = ((1000.0, "1 m"), (500.0, "50 cm"), (200.0, "20 cm"), (100.0, "10 cm"))
    if units == "imperial":
        choices = ((914.4, "3 ft"), (304.8, "1 ft"), (152.4, "6 in"), (101.6, "4 in"))
    room = min(frame.window.width * 0.6, frame.width - frame.window.left - 30.0)
    return next((choice for choice in choices if frame.view.paper(choice[0]) <= room), choices[-1])


def _rectangle(x: float, y: float, width: float, height: float) -> str:
    corners: tuple[Point, ...] = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return polyline_path(corners, closed=True)


def write_aspect(canvas: Canvas, picture: SupportPicture, frame: Frame, options: Options, bar: Box) -> None:
    """The aspect at the foot on the right, as far as the scale bar leaves room."""
    text = shortened(" ".join(picture.aspect.split()), frame.width - 5.0 - bar.right)
    if text:
        where = (frame.width - 3.0, frame.height - 2.8)
        put_words(canvas, text, where, options, Face("end", class_="aspect"))
