"""The key to the marks: each shape once, with its words."""

from __future__ import annotations

from collections.abc import Iterable

from .canvas import Canvas, Point, at, polyline_path
from .lettering import CENTRED_BOLD, LETTER, put_words, words_width
from .page import document
from .style import Options, Width
from .symbols import Symbol, draw_symbol, symbol_of

WIDTH = Width()
ROW = 9.0
SIGN_ROOM = 14.0
LINES = {
    "keep": "Keep",
    "off": "Goes: take this part off",
    "ghost": "Where it should be one day",
    "wire": "Wire",
}
"""Lines that a legend may explain besides the marks."""


def draw_legend(kinds: Iterable[str], options: Options | None = None, *, lines: Iterable[str] = ()) -> str:
    """The legend for kinds of work (shapes that serve two kinds appear once) and for ``lines`` of `LINES`.

    As many columns as the width holds; never smaller than its 9 pt lettering.

    Raises:
        ValueError: for a line that has no words.
    """
    options = options or Options()
    wanted = tuple(lines)
    if unknown := [line for line in wanted if line not in LINES]:
        raise ValueError(f"no such line in the legend: {', '.join(unknown)}; known are {', '.join(LINES)}")
    symbols = {symbol_of(kind).name: symbol_of(kind) for kind in kinds}
    entries: list[tuple[str, Symbol | None]] = [(line, None) for line in wanted]
    entries += [(symbol.words, symbol) for symbol in symbols.values()]
    texts = [LINES[name] if symbol is None else name for name, symbol in entries]
    cell = SIGN_ROOM + max((words_width(text) for text in texts), default=0.0) + 4.0
    columns = max(int(options.paper_width / cell), 1)
    rows = -(-len(entries) // columns)
    width = options.paper_width
    canvas = Canvas()
    for index, ((name, symbol), text) in enumerate(zip(entries, texts, strict=True)):
        column, row = divmod(index, rows)
        middle = (column * (width / columns) + SIGN_ROOM / 2, ROW * (row + 0.5))
        if symbol is None:
            _draw_line(canvas, name, middle, options)
        else:
            _draw_sign(canvas, symbol, middle, options)
        put_words(canvas, text, (middle[0] + SIGN_ROOM / 2, middle[1] + LETTER * 0.35), options)
    title = options.title or "What the marks mean"
    return document(canvas.content(), (width, max(rows * ROW, ROW)), (title, "; ".join(texts) + "."), options)


def _draw_sign(canvas: Canvas, symbol: Symbol, middle: Point, options: Options) -> None:
    if symbol.name == "bent arrow":
        x, y = middle
        canvas.add("path", d=f"M{at((x - 3.4, y - 3.0))}Q{at((x, y - 2.4))} {at((x, y + 0.6))}", fill="none",
                   stroke=options.ink.tie, stroke_width=WIDTH.post)  # fmt: skip
        middle = (x, y + 1.6)
    if symbol.name == "bracket":
        middle = (middle[0], middle[1] - 1.5)
        put_words(canvas, "5→2", (middle[0], middle[1] + 4.6), options, CENTRED_BOLD)
    draw_symbol(canvas, symbol, middle, (1.0, 0.0), options.ink)


def _draw_line(canvas: Canvas, name: str, middle: Point, options: Options) -> None:
    x, y = middle
    left, right = (x - 5.0, y), (x + 5.0, y)
    ink = options.ink
    if name == "ghost":
        corners = ((x - 5.0, y - 1.2), (x + 5.0, y - 1.2), (x + 5.0, y + 1.2), (x - 5.0, y + 1.2))
        canvas.add("path", d=polyline_path(corners, closed=True), fill="none", stroke=ink.tie,
                   stroke_width=WIDTH.ghost, stroke_dasharray="1 1")  # fmt: skip
        return
    colour, width, dash = {
        "keep": (ink.wood, WIDTH.arm, None),
        "off": (ink.off, WIDTH.off, "2.2 1.4"),
        "wire": (ink.steel, WIDTH.wire, None),
    }[name]
    canvas.add("path", d=f"M{at(left)}L{at(right)}", fill="none", stroke=colour, stroke_width=width,
               stroke_dasharray=dash)  # fmt: skip
