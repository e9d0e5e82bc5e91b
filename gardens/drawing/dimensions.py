"""Dimension lines: a thin line between two short strokes, its length in words, as building drawings have them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from gardens.units import show_length

from .canvas import Canvas, at
from .frame import Frame
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


def draw_width_chain(canvas: Canvas, frame: Frame, places_mm: Sequence[float], y: float, options: Options) -> None:
    """Dimensions from place to place along the support [mm of garden], on one line at y [mm of paper].

    Where places lie too close for words, the run of equal gaps is named once ("6 × 75 cm").
    """
    places = sorted(places_mm)
    gaps = [b - a for a, b in pairwise(places)]
    start = 0
    while start < len(gaps):
        stop = start + 1
        while stop < len(gaps) and abs(gaps[stop] - gaps[start]) < 1:
            stop += 1
        text = show_length(gaps[start], options.units)
        fits = frame.view.paper(gaps[start]) >= words_width(text) + 3.0
        if stop - start > 1 and not fits:
            _draw_run(canvas, frame, places[start : stop + 1], y, (f"{stop - start} × {text}", options))
        else:
            for index in range(start, stop):
                ends = (frame.view.place(places[index], 0)[0], frame.view.place(places[index + 1], 0)[0])
                draw_width(canvas, ends, y, text, options)
        start = stop


def _draw_run(canvas: Canvas, frame: Frame, places: Sequence[float], y: float, label: tuple[str, Options]) -> None:
    text, options = label
    xs = [frame.view.place(place, 0)[0] for place in places]
    draw_width(canvas, (xs[0], xs[-1]), y, text, options)
    ticks = "".join(
        f"M{at((x - _TICK * 0.5, y + _TICK * 0.5))}L{at((x + _TICK * 0.5, y - _TICK * 0.5))}" for x in xs[1:-1]
    )
    middle, wide = (xs[0] + xs[-1]) / 2, words_width(text) / 2 + 0.8
    if ticks and not any(abs(x - middle) < wide for x in xs[1:-1]):
        canvas.add("path", d=ticks, fill="none", stroke=options.ink.steel, stroke_width=WIDTH.hint)


def draw_height_chain(canvas: Canvas, frame: Frame, heights_mm: Sequence[float], x: float, options: Options) -> None:
    """Dimensions from height to height above ground [mm of garden], on one line at x [mm of paper]."""
    heights = sorted({0.0, *(float(height) for height in heights_mm)})
    for low, high in pairwise(heights):
        ends = (frame.view.place(0, low)[1], frame.view.place(0, high)[1])
        draw_height(canvas, x, ends, show_length(high - low, options.units), options)
