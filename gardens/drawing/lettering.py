"""Words on a picture: one size, one face, and how much room they take."""

from __future__ import annotations

from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Face:
    """How words are set: where their point lies (SVG ``text-anchor``), bold or not, their class for pages."""

    anchor: str | None = None
    is_bold: bool = False
    class_: str | None = None


PLAIN = Face()
CENTRED = Face("middle")
CENTRED_BOLD = Face("middle", is_bold=True)
BOLD = Face(is_bold=True)
FLUSH_RIGHT = Face("end")


def put_words(canvas: Canvas, text: str, where: Point, options: Options, face: Face = PLAIN) -> None:
    """Words with their baseline at a point."""
    weight = "700" if face.is_bold else None
    canvas.text(text, where, fill=options.ink.wood, font_size=LETTER, text_anchor=face.anchor, font_weight=weight,
                class_=face.class_)  # fmt: skip
