"""Marks: a shape of its own for each kind, told apart without colour, at the size a poor printer still holds."""

from __future__ import annotations

from itertools import combinations

import pytest
from PIL import Image, ImageChops, ImageDraw

from gardens.drawing import SYMBOLS, Mark, Options, draw_legend, draw_tree
from gardens.drawing.canvas import Canvas
from gardens.drawing.style import HALO, IN_BLACK, IN_COLOUR
from gardens.drawing.symbols import Half, Line, Ring, Sign, Symbol, draw_symbol, symbol_of
from gardens.training.state import WORK_KINDS

from .reading import shapes_of, sheet_of, texts_of
from .trees import tree

DOTS = 150 / 25.4
"""Dots in a millimetre of an office printer at 150 dpi."""

SIDE = 90


def printed(symbol: Symbol) -> Image.Image:
    """The symbol as a 1-bit picture at 150 dpi."""
    picture = Image.new("1", (SIDE, SIDE), 1)
    pen = ImageDraw.Draw(picture)

    def dot(x: float, y: float) -> tuple[float, float]:
        return (SIDE / 2 + x * DOTS, SIDE / 2 + y * DOTS)

    for part in symbol.parts:
        if isinstance(part, Line):
            points = [dot(x, y) for x, y in part.points]
            if part.is_closed:
                pen.polygon(points, fill={"ink": 0, "paper": 1, None: None}[part.fill])
                points = [*points, points[0]]
            pen.line(points, fill=0, width=max(round(part.width * DOTS), 1))
        elif isinstance(part, Ring):
            x, y = dot(*part.centre)
            r = part.radius * DOTS
            fill = {"ink": 0, "paper": 1, None: None}[part.fill]
            pen.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=0, width=max(round(part.width * DOTS), 1))
        elif isinstance(part, Half):
            x, y = dot(0, 0)
            r = part.radius * DOTS
            pen.pieslice((x - r, y - r, x + r, y + r), 90, 270, fill=0)
        elif isinstance(part, Sign):
            pen.text(dot(0, 0), part.text, fill=0, anchor="mm")
    return picture


def black_dots(picture: Image.Image) -> int:
    return picture.histogram()[0]


@pytest.mark.parametrize("kind", WORK_KINDS)
def test_every_kind_of_work_has_a_symbol(kind):
    assert kind in SYMBOLS
    assert symbol_of(kind).words


def test_shapes_differ_in_one_bit_print_at_150_dpi():
    symbols = list({symbol.name: symbol for symbol in SYMBOLS.values()}.values())
    assert len(symbols) >= 25
    for one, other in combinations(symbols, 2):
        a, b = printed(one), printed(other)
        different = SIDE * SIDE - ImageChops.logical_xor(a, b).histogram()[0]
        assert different > 0.28 * min(black_dots(a), black_dots(b)), f"{one.name} looks like {other.name}"


@pytest.mark.parametrize("symbol", {s.name: s for s in SYMBOLS.values()}.values(), ids=lambda symbol: symbol.name)
def test_symbols_are_large_enough_to_print(symbol):
    """The smallest ring ("leave it") is 2.2 mm wide, everything that asks for work at least 3 mm."""
    assert symbol.radius * 2 >= (2.2 if symbol.name == "small ring" else 3.0)
    assert all(part.width >= 0.3 for part in symbol.parts if isinstance(part, Line | Ring))
    assert black_dots(printed(symbol)) > 25


def test_only_kinds_with_the_same_act_share_a_shape():
    shared: dict[str, set[str]] = {}
    for kind, symbol in SYMBOLS.items():
        shared.setdefault(symbol.name, set()).add(kind)
    assert {frozenset(kinds) for kinds in shared.values() if len(kinds) > 1} == {
        frozenset({"winter_prune", "remove_low_shoots"}),
        frozenset({"head_back", "shorten_arms"}),
        frozenset({"pinch", "summer_prune"}),
        frozenset({"replace", "graft"}),
    }


@pytest.mark.parametrize("kind", SYMBOLS)
def test_a_white_edge_is_painted_before_the_ink(kind):
    canvas = Canvas()
    draw_symbol(canvas, symbol_of(kind), (10.0, 10.0), (1.0, 0.0), IN_BLACK)
    content = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20">{canvas.content()}</svg>'
    painted = [shape for shape in shapes_of(content) if shape.tag != "text"]
    strokes = [shape for shape in painted if shape.attributes.get("stroke", "none") != "none"]
    white = [index for index, shape in enumerate(strokes) if shape.attributes["stroke"] == IN_BLACK.paper]
    black = [index for index, shape in enumerate(strokes) if shape.attributes["stroke"] == IN_BLACK.wood]
    assert white
    assert black
    assert max(white) < min(black)
    widths = {strokes[w].stroke_width - strokes[b].stroke_width for w, b in zip(white, black, strict=True)}
    assert all(width == pytest.approx(2 * HALO, abs=0.011) for width in widths)


def test_box_of_a_symbol_holds_its_ink():
    for symbol in SYMBOLS.values():
        for way in ((1.0, 0.0), (0.0, -1.0), (-0.6, 0.8)):
            canvas = Canvas()
            box = draw_symbol(canvas, symbol, (20.0, 20.0), way, IN_COLOUR)
            content = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">{canvas.content()}</svg>'
            for shape in shapes_of(content):
                if shape.tag != "text":
                    assert box.grown(0.3).contains(shape.box), symbol.name


def test_legend_lists_each_shape_once_with_its_words():
    svg = draw_legend(["winter_prune", "remove_low_shoots", "head_back", "tie_in"], lines=("keep", "ghost"))
    assert texts_of(svg) == [
        "Keep",
        "Where it should be one day",
        "Take off whole, at its base",
        "Shorten here",
        "Tie here (new)",
    ]


@pytest.mark.parametrize("width", [60.0, 90.0, 180.0])
def test_legend_stays_inside_its_sheet(width):
    svg = draw_legend(SYMBOLS, Options(width_mm=max(width, 100.0)), lines=("keep", "off", "ghost", "wire"))
    sheet = sheet_of(svg).grown(0.05)
    assert all(sheet.contains(shape.box) for shape in shapes_of(svg))
    sizes = {float(shape.attributes["font-size"]) for shape in shapes_of(svg) if shape.tag == "text"}
    assert min(sizes) >= 9 * 25.4 / 72 - 0.01


def test_legend_refuses_a_line_it_has_no_words_for():
    with pytest.raises(ValueError, match="known are keep, off, ghost, wire"):
        draw_legend([], lines=("rope",))


def test_unknown_kind_is_drawn_as_look_here():
    svg = draw_tree(tree("horizontal_tiers", "half"), [Mark(number=1, kind="sing_to_it", limb="arm:1:left")])
    assert "!" in texts_of(svg)


def parallel_gap(one: Line, other: Line) -> float | None:
    """The white between two straight strokes that run beside each other [mm]; None for others."""
    (ax, ay), (bx, by) = one.points
    (cx, cy), (dx, dy) = other.points
    long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    ux, uy = (bx - ax) / long, (by - ay) / long
    if abs(ux * (dy - cy) - uy * (dx - cx)) > 0.05:
        return None
    along = sorted(((cx - ax) * ux + (cy - ay) * uy, (dx - ax) * ux + (dy - ay) * uy))
    if along[1] <= 0 or along[0] >= long:
        return None
    return abs((cx - ax) * uy - (cy - ay) * ux) - (one.width + other.width) / 2


@pytest.mark.parametrize("symbol", {s.name: s for s in SYMBOLS.values()}.values(), ids=lambda symbol: symbol.name)
def test_strokes_side_by_side_leave_a_gap(symbol):
    """ISO 128-20: parallel lines leave at least 0.7 mm of white between them."""
    strokes = [part for part in symbol.parts if isinstance(part, Line) and len(part.points) == 2]
    gaps = [gap for one, other in combinations(strokes, 2) if (gap := parallel_gap(one, other)) is not None]
    assert all(gap >= 0.7 for gap in gaps)
    assert symbol.name != "wall and cross" or gaps
