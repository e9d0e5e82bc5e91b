"""What a laid-out support is built of, seen from in front on ground that may slope: face, posts, wires, eyes, stays."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan, cos, sin

from gardens.supports.laid import LaidPost, SupportLayout

from .canvas import Canvas, Point, at, polyline_path
from .frame import Frame
from .geometry import grain
from .style import Options, Width

WIDTH = Width()
THINNEST_POST = 1.4
END_EYE, EYE = 0.9, 0.6
BRACE_WIDTHS = {"stay": 0.35, "diagonal": 0.35, "rail": 0.9, "strut": 0.9, "anchor": 0.5}


def draw_face(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """The wall or the fence behind the wires, its top along the ground; nothing where it stands on posts alone."""
    if layout.kind == "post_and_wire":
        return
    low, high = _corner(layout, frame, 0), _corner(layout, frame, layout.run_mm)
    top_left, top_right = (
        _corner(layout, frame, 0, layout.height_mm),
        _corner(layout, frame, layout.run_mm, layout.height_mm),
    )
    hints = _bricks if layout.kind == "wall" else _boards
    with canvas.group(class_="support", fill="none", stroke=options.ink.steel):
        data = "".join(hints(layout, frame))
        if data:
            canvas.add("path", d=data, stroke=options.ink.hint, stroke_width=WIDTH.hint, class_="hint")
        lines = polyline_path((low, top_left, top_right, high))
        if layout.kind == "wall":
            cope = min(max(frame.view.paper(60), 1.0), 2.4)
            lines += polyline_path(((top_left[0], top_left[1] + cope), (top_right[0], top_right[1] + cope)))
        canvas.add("path", d=lines, stroke_width=WIDTH.post * options.boldness, stroke_linejoin="round")


def _along(layout: SupportLayout, along_mm: float, above_mm: float = 0) -> tuple[float, float]:
    slope = atan(layout.slope_percent / 100)
    return along_mm * cos(slope), along_mm * sin(slope) + above_mm


def _corner(layout: SupportLayout, frame: Frame, along_mm: float, above_mm: float = 0) -> Point:
    return frame.view.place(*_along(layout, along_mm, above_mm))


def _bricks(layout: SupportLayout, frame: Frame) -> Iterator[str]:
    """A few patches of level coursing: enough to say masonry, not enough to compete with the trees."""
    course = max(75.0, 2.0 * frame.view.scale)
    brick = course * 3
    rise = _along(layout, layout.run_mm)[1]
    rows = int((layout.height_mm + abs(rise)) / course)
    columns = int(layout.run_mm / brick)
    for row in range(rows):
        y = min(0.0, rise) + (row + 0.5) * course
        for column in range(columns):
            x = (column + (0.5 if row % 2 else 0.0)) * brick
            ground = max(_along(layout, x)[1], _along(layout, x + brick)[1])
            inside = (
                ground <= y
                and y + course <= min(_along(layout, x)[1], _along(layout, x + brick)[1]) + layout.height_mm - 60
            )
            patch = grain(f"patch {column // 3} {row // 4}", 1)
            if not inside or x + brick > layout.run_mm or patch < 0.62 or grain(f"brick {column} {row}", 2) < 0.25:
                continue
            left, right = frame.view.place(x, y), frame.view.place(x + brick, y)
            yield f"M{at(left)}L{at(right)}M{at(left)}L{at(frame.view.place(x, y + course))}"


def _boards(layout: SupportLayout, frame: Frame) -> Iterator[str]:
    board = max(150.0, 2.6 * frame.view.scale)
    for index in range(1, int(layout.run_mm / board)):
        x = index * board
        long = layout.height_mm * (0.06 + 0.1 * grain(f"board {index}", 1))
        foot = layout.height_mm * (0.05 + 0.09 * grain(f"board {index}", 2))
        top = _corner(layout, frame, x, layout.height_mm)
        yield f"M{at(top)}L{at(_corner(layout, frame, x, layout.height_mm - long))}"
        yield f"M{at(_corner(layout, frame, x, foot))}L{at(_corner(layout, frame, x))}"


def draw_laid_posts(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """Posts stand plumb whatever the ground does; what is below it is dashed."""
    if not layout.posts:
        return
    with canvas.group(class_="posts", fill="none", stroke=options.ink.steel):
        for post in layout.posts:
            _draw_post(canvas, post, frame, options)


def _draw_post(canvas: Canvas, post: LaidPost, frame: Frame, options: Options) -> None:
    half = max(frame.view.paper(post.size_mm), THINNEST_POST) / 2
    x, top = frame.view.place(post.x_mm, post.top_y_mm)
    ground, foot = frame.view.place(0, post.ground_y_mm)[1], frame.view.place(0, post.foot_y_mm)[1]
    below = ((x - half, ground), (x - half, foot), (x + half, foot), (x + half, ground))
    above = ((x - half, ground), (x - half, top), (x, top - min(0.5, half)), (x + half, top), (x + half, ground))
    canvas.add("path", d=polyline_path(below), stroke_width=WIDTH.hint, stroke_dasharray="1 1")
    canvas.add(
        "path",
        d=polyline_path(above),
        fill=options.ink.paper,
        stroke_width=WIDTH.post * options.boldness,
        stroke_linejoin="round",
        class_=f"post {post.role}",
    )


def draw_braces(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """Stays and diagonals thin, rails and struts thick, what lies in the ground dashed."""
    for brace in layout.braces:
        start, stop = frame.view.place(brace.x1_mm, brace.y1_mm), frame.view.place(brace.x2_mm, brace.y2_mm)
        canvas.add(
            "path",
            d=polyline_path((start, stop)),
            fill="none",
            stroke=options.ink.steel,
            stroke_width=BRACE_WIDTHS[brace.role],
            stroke_dasharray="1 1" if brace.role == "anchor" else None,
            stroke_linecap="round",
            class_=f"brace {brace.role}",
        )
        if brace.role == "anchor":
            left, right = (stop[0] - 1.4, stop[1]), (stop[0] + 1.4, stop[1])
            canvas.add("path", d=polyline_path((left, right)), stroke=options.ink.steel, stroke_width=0.9)


def draw_laid_wires(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    data = "".join(polyline_path(frame.view.place(x, y) for x, y in wire.points) for wire in layout.wires)
    if data:
        canvas.add("path", d=data, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.wire, class_="wire")


def draw_eyes(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """Open rings in between, filled ones at the ends, which take the pull."""
    ink = options.ink
    for eye in layout.eyes:
        x, y = frame.view.place(eye.x_mm, eye.y_mm)
        is_end = eye.role == "end"
        canvas.add(
            "circle",
            cx=x,
            cy=y,
            r=END_EYE if is_end else EYE,
            fill=ink.steel if is_end else ink.paper,
            stroke=ink.steel,
            stroke_width=WIDTH.wire,
            class_=f"eye {eye.role}",
        )


def draw_laid_ground(canvas: Canvas, layout: SupportLayout, frame: Frame, options: Options) -> None:
    """The line of the ground from edge to edge of the window, hatched below."""
    window, rise = frame.window, layout.slope_percent / 100
    zero_x, zero_y = frame.view.zero
    ticks, x = "", window.left + 0.6
    while x + 2.2 < window.right:
        y = zero_y - (x - zero_x) * rise
        if window.top < y + 2.2 < window.bottom + 3:
            ticks += f"M{at((x + 2.2, zero_y - (x + 2.2 - zero_x) * rise))}L{at((x, y + 2.2))}"
        x += 2.6
    line = tuple((edge, zero_y - (edge - zero_x) * rise) for edge in (window.left, window.right))
    with canvas.group(class_="ground", fill="none", stroke=options.ink.steel):
        if ticks:
            canvas.add("path", d=ticks, stroke_width=WIDTH.hint)
        canvas.add("path", d=polyline_path(line), stroke_width=WIDTH.ground * options.boldness)
