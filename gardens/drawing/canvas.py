"""Writes SVG elements as text: every value escaped, every number short, nothing that a content policy refuses.

No ``style`` attributes, no style sheet, no script, no reference outside the picture, no transforms: all coordinates
are absolute millimetres on paper, so a reader (or a test) sees at once where a thing lies.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache, lru_cache
from html import escape

Point = tuple[float, float]

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

FONT_FAMILY = "'Atkinson Hyperlegible Next', 'Atkinson Hyperlegible', system-ui, 'Segoe UI', Roboto, sans-serif"


def number(value: float) -> str:
    """A coordinate [mm] with at most two decimals: a hundredth of a millimetre is finer than any printer."""
    text = f"{value:.2f}"
    if text.endswith("00"):
        return text[:-3] if text != "-0.00" else "0"
    return text[:-1] if text[-1] == "0" else text


def at(point: Point) -> str:
    """A point as "x y"."""
    return "%.2f %.2f" % point  # noqa: UP031 - a picture has thousands, and this is the quickest way to write one


@lru_cache(maxsize=2048)
def clean(text: str) -> str:
    """Text without characters that XML forbids, escaped for content and attributes."""
    return escape(_NOT_XML.sub("", text), quote=True)


def polyline_path(points: Iterable[Point], *, closed: bool = False) -> str:
    """Path data for straight pieces from point to point."""
    data = "M" + "L".join(map(at, points))
    return data + "Z" if closed else data


class Canvas:
    """A growing list of SVG elements.

    Attribute names are written with underscores (``stroke_width``); a name that Python keeps for itself ends in one
    (``class_``). ``None`` leaves an attribute out.
    """

    def __init__(self) -> None:
        self._parts: list[str] = []

    def add(self, tag: str, **attributes: object) -> None:
        """An element without content."""
        self._parts.append(f"<{tag}{_attributes(attributes)}/>")

    def figures(self, data: Iterable[str]) -> None:
        """Paths that take all their paint from the group around them; ``data`` holds path commands only."""
        self._parts.extend([f'<path d="{one}"/>' for one in data])

    def text(self, content: str, where: Point, **attributes: object) -> None:
        """Words with their baseline starting at a point (or as ``text_anchor`` says)."""
        x, y = number(where[0]), number(where[1])
        self._parts.append(f'<text x="{x}" y="{y}"{_attributes(attributes)}>{clean(content)}</text>')

    def words(self, tag: str, content: str, **attributes: object) -> None:
        """An element that holds words only (title, desc)."""
        self._parts.append(f"<{tag}{_attributes(attributes)}>{clean(content)}</{tag}>")

    @contextmanager
    def group(self, **attributes: object) -> Iterator[None]:
        """Elements added inside belong to one ``<g>``; a group that stays empty leaves no trace."""
        start = len(self._parts)
        self._parts.append(f"<g{_attributes(attributes)}>")
        yield
        if len(self._parts) == start + 1:
            self._parts.pop()
        else:
            self._parts.append("</g>")

    @contextmanager
    def definitions(self) -> Iterator[None]:
        """Elements added inside are kept for reference and not painted."""
        self._parts.append("<defs>")
        yield
        self._parts.append("</defs>")

    @contextmanager
    def clip(self, name: str) -> Iterator[None]:
        """Elements added inside form a clip path with this id."""
        self._parts.append(f'<clipPath id="{clean(name)}">')
        yield
        self._parts.append("</clipPath>")

    def content(self) -> str:
        """Everything added so far."""
        return "".join(self._parts)


def _attributes(attributes: dict[str, object]) -> str:
    return "".join(
        [f' {_named(name)}="{_written(name, value)}"' for name, value in attributes.items() if value is not None]
    )


@cache
def _named(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


def _written(name: str, value: object) -> str:
    if name == "d":  # path data is built from numbers alone
        return str(value)
    if isinstance(value, str):
        return clean(value)
    return number(value) if isinstance(value, float) else clean(str(value))
