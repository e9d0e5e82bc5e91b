"""Words on a picture: one size, one face, and how much room they take."""

from __future__ import annotations

from .canvas import Canvas, Point
from .style import LETTERING, Options

LETTER = LETTERING
_NARROW = set("iljtfrI.,:;'|!()[] 1")
_BROAD = set("mwMW@%½→")


def words_width(text: str, size: float = LETTER, *, bold: bool = False) -> float:
    """Room for words [mm], generous enough for the fallback faces too."""
    units = sum(0.36 if letter in _NARROW else 0.92 if letter in _BROAD else 0.63 for letter in text)
    return units * size * (1.08 if bold else 1.0)


def shortened(text: str, room: float, size: float = LETTER) -> str:
    """The words, cut with an ellipsis where they would not fit the room [mm]."""
    if words_width(text, size) <= room:
        return text
    while text and words_width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…" if text else ""


def put_words(
    canvas: Canvas,
    text: str,
    where: Point,
    options: Options,
    *,
    anchor: str | None = None,
    bold: bool = False,
    size: float = LETTER,
    class_: str | None = None,
) -> None:
    """Words with their baseline at a point, on a white edge so that lines behind do not run through them."""
    common: dict[str, object] = {
        "font_size": size,
        "text_anchor": anchor,
        "font_weight": "700" if bold else None,
    }
    canvas.text(text, where, fill=options.ink.wood, class_=class_, **common)
