"""Dimension lines: a thin line between two short strokes, its length in words, as building drawings have them."""

from __future__ import annotations

from collections.abc import Sequence

from gardens.units import show_length

from .canvas import Canvas, at
from .lettering import CENTRED, FLUSH_RIGHT, LETTER, put_words, words_width
from .style import Options, Width

WIDTH = Width()
_TICK = 1.0
_TURNED_ROOM = 4.2


def draw_width(canvas: Canvas, ends: tuple[float, float], y: float, text: str, options: Options) -> None:
    """A horizontal dimension between two x at a height y [mm of paper], its words on the line."""
    left, right = min(ends), max(ends)
    wide = words_width(text)
    middle = (left + right) / 2
    line = f"M{at((left, y))}L{at((right, y))}"
    if wide + 3.0 <= right - left:
        gap = wide / 2 + 0.8
        line = f"M{at((left, y))}L{at((middle - gap, y))}M{at((middle + gap, y))}L{at((right, y))}"
    for x in (left, right):
        line += f"M{at((x - _TICK * 0.7, y + _TICK * 0.7))}L{at((x + _TICK * 0.7, y - _TICK * 0.7))}"
    canvas.add("path", d=line, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.hint, class_="dimension")
    if wide + 3.0 <= right - left:
        put_words(canvas, text, (middle, y + LETTER * 0.35), options, CENTRED)


def draw_height(canvas: Canvas, x: float, ends: tuple[float, float], text: str, options: Options) -> None:
    """An upright dimension between two y at a place x [mm of paper]; its words stand to its left, upright."""
    top, bottom = min(ends), max(ends)
    line = f"M{at((x, top))}L{at((x, bottom))}"
    for y in (top, bottom):
        line += f"M{at((x - _TICK * 0.7, y + _TICK * 0.7))}L{at((x + _TICK * 0.7, y - _TICK * 0.7))}"
    canvas.add("path", d=line, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.hint, class_="dimension")
    if bottom - top >= LETTER + 0.6:
        put_words(canvas, text, (x - 1.4, (top + bottom) / 2 + LETTER * 0.35), options, FLUSH_RIGHT)


Piece = tuple[float, float, float]
"""One piece of a line of dimensions: its ends on paper [mm] and its length as built [mm]."""


def draw_chain(canvas: Canvas, pieces: Sequence[Piece], y: float, options: Options) -> None:
    """Dimensions one after the other on a line at y [mm of paper].

    Where pieces are too short for words, a run of equal ones is named once ("6 × 75 cm").
    """
    start = 0
    while start < len(pieces):
        stop = start + 1
        while stop < len(pieces) and abs(pieces[stop][2] - pieces[start][2]) <= 1:
            stop += 1
        text = show_length(pieces[start][2], options.units)
        fits = abs(pieces[start][1] - pieces[start][0]) >= words_width(text) + 3.0
        if stop - start > 1 and not fits:
            _draw_run(canvas, pieces[start:stop], y, (f"{stop - start} × {text}", options))
        else:
            for left, right, length in pieces[start:stop]:
                draw_width(canvas, (left, right), y, show_length(length, options.units), options)
        start = stop


def _draw_run(canvas: Canvas, pieces: Sequence[Piece], y: float, label: tuple[str, Options]) -> None:
    text, options = label
    xs = [pieces[0][0], *(right for _, right, _ in pieces)]
    draw_width(canvas, (xs[0], xs[-1]), y, text, options)
    ticks = "".join(
        f"M{at((x - _TICK * 0.5, y + _TICK * 0.5))}L{at((x + _TICK * 0.5, y - _TICK * 0.5))}" for x in xs[1:-1]
    )
    middle, wide = (xs[0] + xs[-1]) / 2, words_width(text) / 2 + 0.8
    if ticks and not any(abs(x - middle) < wide for x in xs[1:-1]):
        canvas.add("path", d=ticks, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.hint)
