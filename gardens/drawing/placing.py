"""Number squares and their words: beside their mark, inside the frame, never on one another, off the wood if it can be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import accumulate, chain, pairwise
from math import cos, hypot, inf, pi, sin
from operator import add

from .canvas import Canvas, Point, at
from .figure import Figure
from .geometry import Box
from .ground import Site, draw_site_wood
from .lettering import BOLD, CENTRED_BOLD, LETTER, put_words, shortened, words_width
from .style import HALO, Options
from .symbols import draw_symbol

SQUARE = 4.2
_DISTANCES = (4.9, 6.6, 8.6, 11.0, 14.0, 18.0, 23.0)
_TURNS = tuple((cos(k * pi / 6), sin(k * pi / 6)) for k in (10, 11, 8, 9, 7, 0, 1, 6, 5, 2, 3, 4))
_CELL = 1.5
_Edges = tuple[float, float, float, float]
"""Left, top, right, bottom [mm]: a box that is tried out, hundreds of times in a picture."""


@dataclass
class Crowd:
    """What already lies on the sheet: hard boxes that nothing may cover, and a soft map of the drawing."""

    sheet: Box
    hard: list[Box] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._columns = int(self.sheet.right / _CELL) + 2
        self._rows = int(self.sheet.bottom / _CELL) + 2
        self._cells = [[0] * self._columns for _ in range(self._rows)]
        self._sums: list[list[int]] = []

    def sprinkle(self, points: Iterable[Point], weight: int) -> None:
        """Note that something lies at these points and on the straight lines between them."""
        cells, columns, rows = self._cells, self._columns, self._rows
        for (ax, ay), (bx, by) in pairwise(points):
            pieces = int(max(abs(bx - ax), abs(by - ay)) / _CELL) + 1
            x, y, dx, dy = ax / _CELL, ay / _CELL, (bx - ax) / pieces / _CELL, (by - ay) / pieces / _CELL
            for _ in range(pieces + 1):
                column, row = int(x), int(y)
                if 0 <= row < rows and 0 <= column < columns and cells[row][column] < weight:
                    cells[row][column] = weight
                x += dx
                y += dy

    def settle(self) -> None:
        """Sum up the soft map so that any box is weighed in four look-ups."""
        sums = [[0] * (self._columns + 1)]
        for row in self._cells:
            sums.append(list(map(add, sums[-1], accumulate(row, initial=0))))
        self._sums = sums

    def weigh(self, box: _Edges) -> float:
        """How much of the drawing a box on the sheet would cover."""
        left, right = int(box[0] / _CELL), int(box[2] / _CELL)
        above, below = self._sums[int(box[1] / _CELL)], self._sums[int(box[3] / _CELL) + 1]
        return below[right + 1] - above[right + 1] - below[left] + above[left]

    def holds(self, box: _Edges) -> bool:
        """Whether a box lies on the sheet."""
        sheet, (left, top, right, bottom) = self.sheet, box
        return sheet.left <= left and sheet.top <= top and right <= sheet.right and bottom <= sheet.bottom

    def is_free(self, box: _Edges) -> bool:
        """Whether a box lies on nothing hard."""
        left, top, right, bottom = box
        for other in self.hard:
            if left < other.right and other.left < right and top < other.bottom and other.top < bottom:
                return False
        return True


@dataclass(frozen=True, slots=True)
class Tag:
    """A number square with its words, laid beside a mark."""

    site: Site
    box: Box
    words: str
    square: float

    @property
    def middle(self) -> Point:
        """The middle of the square."""
        return (self.box.left + self.square / 2, (self.box.top + self.box.bottom) / 2)


def draw_sites(
    canvas: Canvas, sites: list[Site], figures: list[Figure], sheet: tuple[Box, list[Box]], options: Options
) -> None:
    """All marks with their numbers and words; ``sheet`` is the whole paper and what on it may not be covered."""
    if not sites:
        return
    paper, hard = sheet
    with canvas.group(class_="marks"):
        for site in sites:
            draw_site_wood(canvas, site, options)
        boxes = [draw_symbol(canvas, site.symbol, site.point, site.way, options.ink) for site in sites]
        if not options.compact:
            crowd = crowd_of(figures, paper.grown(-1.0), [*hard, *boxes], sites)
            draw_tags(canvas, lay_tags(sites, crowd), options)


def crowd_of(figures: list[Figure], sheet: Box, hard: list[Box], sites: list[Site]) -> Crowd:
    """The sheet as the trees and their marks leave it."""
    crowd = Crowd(sheet, list(hard))
    for site in sites:
        crowd.sprinkle(site.sweep, 30)
        if site.shoot is not None:
            crowd.sprinkle(site.shoot, 30)
    for figure in figures:
        for trace in figure.traces.values():
            crowd.sprinkle(trace.points, 4)
        for ghost in figure.ghosts.values():
            crowd.sprinkle(ghost.points, 2)
        for piece in chain.from_iterable(figure.pieces.values()):
            crowd.sprinkle((piece.base, piece.tip), 1)
    crowd.settle()
    return crowd


def lay_tags(sites: list[Site], crowd: Crowd) -> list[Tag]:
    """A tag for every numbered mark, each in the best free place near it."""
    tags: list[Tag] = []
    for site in sites:
        if not site.mark.number:
            continue
        tag = _best_tag(site, crowd)
        crowd.hard.append(tag.box.grown(0.4))
        tags.append(tag)
    return tags


def _best_tag(site: Site, crowd: Crowd) -> Tag:
    square = SQUARE if site.mark.number < 10 else SQUARE + 1.6 if site.mark.number < 100 else SQUARE + 3.4
    words = shortened(site.mark.label, 34.0)
    wide = square + (1.0 + words_width(words) if words else 0.0)
    reach = max(site.symbol.radius - 2.4, 0.0)
    best, cheapest = None, inf
    for distance in _DISTANCES:
        for rank, (along, across) in enumerate(_TURNS):
            cost = distance * 0.7 + rank * 0.05
            if cost >= cheapest:
                continue
            x = site.point[0] + along * (distance + reach)
            y = site.point[1] + across * (distance + reach)
            left = x - SQUARE / 2 if along > -0.3 else x + SQUARE / 2 - wide
            box = (left, y - SQUARE / 2, left + wide, y + SQUARE / 2)
            if not crowd.holds(box):
                continue
            cost += crowd.weigh(box)
            if cost < cheapest and crowd.is_free(box):
                best, cheapest = box, cost
    return Tag(site, Box(*(best or _anywhere(crowd, wide))), words, square)


def _anywhere(crowd: Crowd, wide: float) -> _Edges:
    """The first free place on the sheet, row by row from the top; the top left corner where all is full."""
    first: _Edges = (crowd.sheet.left, crowd.sheet.top, crowd.sheet.left + wide, crowd.sheet.top + SQUARE)
    y = crowd.sheet.top
    while y + SQUARE < crowd.sheet.bottom:
        x = crowd.sheet.left
        while x + wide < crowd.sheet.right:
            box = (x, y, x + wide, y + SQUARE)
            if crowd.is_free(box):
                return box
            x += 2.5
        y += 2.5
    return first


def draw_tags(canvas: Canvas, tags: list[Tag], options: Options) -> None:
    """The lines to marks that lie off first, so that no line runs through words; then squares, numbers, words."""
    for tag in tags:
        _draw_line(canvas, tag, options)
    for tag in tags:
        _draw_square(canvas, tag, options)


def _draw_line(canvas: Canvas, tag: Tag, options: Options) -> None:
    middle = tag.middle
    target = tag.site.point
    away = hypot(middle[0] - target[0], middle[1] - target[1])
    clear = tag.site.symbol.radius + HALO
    if away > clear + SQUARE * 0.75 + 0.8:
        start = (
            target[0] + (middle[0] - target[0]) * clear / away,
            target[1] + (middle[1] - target[1]) * clear / away,
        )
        line = f"M{at(start)}L{at(middle)}"
        for colour, width in ((options.ink.paper, 0.35 + HALO), (options.ink.steel, 0.35)):
            canvas.add("path", d=line, fill="none", stroke=colour, stroke_width=width)


def _draw_square(canvas: Canvas, tag: Tag, options: Options) -> None:
    ink, box = options.ink, tag.box
    halo = box.grown(HALO)
    canvas.add("rect", x=halo.left, y=halo.top, width=halo.width, height=halo.height, fill=ink.paper)
    canvas.add("rect", x=box.left, y=box.top, width=tag.square, height=SQUARE, fill=ink.paper, stroke=ink.wood,
               stroke_width=0.3)  # fmt: skip
    baseline = box.top + SQUARE / 2 + LETTER * 0.36
    put_words(canvas, str(tag.site.mark.number), (tag.middle[0], baseline), options, CENTRED_BOLD)
    if tag.words:
        put_words(canvas, tag.words, (box.left + tag.square + 1.0, baseline), options, BOLD)
