"""Reads a picture back: elements with what they inherit, and the box each one fills."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from gardens.drawing.geometry import Box, box_of
from gardens.drawing.lettering import words_width

SVG = "{http://www.w3.org/2000/svg}"
_COMMAND = re.compile(r"([MLQCAZmlqcz])([^MLQCAZmlqcz]*)")
_INHERITED = ("fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "clip-path")


@dataclass(frozen=True)
class Shape:
    """One painted element with its inherited paint."""

    tag: str
    attributes: dict[str, str]
    words: str
    points: tuple[tuple[float, float], ...]

    @property
    def stroke_width(self) -> float:
        is_stroked = self.attributes.get("stroke", "none") != "none"
        return float(self.attributes.get("stroke-width", 1)) if is_stroked else 0.0

    @property
    def box(self) -> Box:
        return box_of(list(self.points)).grown(self.stroke_width / 2)

    @property
    def classes(self) -> set[str]:
        return set(self.attributes.get("class", "").split())


def root_of(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own output


def sheet_of(svg: str) -> Box:
    left, top, width, height = (float(part) for part in root_of(svg).attrib["viewBox"].split())
    return Box(left, top, left + width, top + height)


def shapes_of(svg: str) -> list[Shape]:
    """All painted elements in their order of painting."""
    return list(_walk(root_of(svg), {}))


def title_of(svg: str) -> str:
    return root_of(svg).findtext(f"{SVG}title") or ""


def description_of(svg: str) -> str:
    return root_of(svg).findtext(f"{SVG}desc") or ""


def texts_of(svg: str) -> list[str]:
    return [shape.words for shape in shapes_of(svg) if shape.tag == "text"]


def limb_group(svg: str, key: str) -> ET.Element | None:
    return next((g for g in root_of(svg).iter(f"{SVG}g") if g.get("data-limb") == key and g.get("id")), None)


def _walk(element: ET.Element, inherited: dict[str, str]):
    tag = element.tag.removeprefix(SVG)
    if tag in ("defs", "title", "desc"):
        return
    own = {**inherited, **element.attrib}
    if tag in ("path", "circle", "rect", "text"):
        yield Shape(tag, own, element.text or "", tuple(_points(tag, own, element.text or "")))
    passed_on = {name: own[name] for name in _INHERITED if name in own}
    for child in element:
        yield from _walk(child, passed_on)


def _points(tag: str, attributes: dict[str, str], words: str):
    def value(name: str) -> float:
        return float(attributes.get(name, 0))

    if tag == "path":
        yield from path_points(attributes["d"])
    elif tag == "circle":
        x, y, r = value("cx"), value("cy"), value("r")
        yield from ((x - r, y - r), (x + r, y + r))
    elif tag == "rect":
        x, y = value("x"), value("y")
        yield from ((x, y), (x + value("width"), y + value("height")))
    else:
        size = value("font-size")
        wide = words_width(words, size)
        start = value("x") - {"middle": wide / 2, "end": wide}.get(attributes.get("text-anchor", ""), 0.0)
        yield from ((start, value("y") - 0.75 * size), (start + wide, value("y") + 0.2 * size))


def path_points(data: str) -> list[tuple[float, float]]:
    """End and control points of a path; curves lie within them. Small letters count from where the pen stands."""
    points: list[tuple[float, float]] = []
    for command, rest in _COMMAND.findall(data):
        numbers = [float(part) for part in rest.replace(",", " ").split()]
        if command == "A":
            points.append((numbers[5], numbers[6]))
            continue
        x, y = points[-1] if command.islower() and points else (0.0, 0.0)
        points += [(x + dx, y + dy) for dx, dy in zip(numbers[::2], numbers[1::2], strict=True)]
    assert re.sub(r"[MLQCAZmlqcz0-9.,\s-]", "", data) == "", f"not a path we write: {data[:40]}"
    return points
