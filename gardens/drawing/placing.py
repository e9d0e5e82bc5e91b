"""Number squares and their words: beside their mark, inside the frame, never on one another, off the wood if it can be."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import accumulate, chain, pairwise
from math import cos, hypot, pi, sin
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
_TURNS = tuple(k * pi / 6 for k in (10, 11, 8, 9, 7, 0, 1, 6, 5, 2, 3, 4))
_CELL = 1.5


@dataclass
class Crowd:
    """What already lies on the sheet: hard boxes that nothing may cover, and a soft map of the drawing."""

    sheet: Box
    hard: list[Box] = field(default_factory=list)
    _soft: list[list[int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._columns = int(self.sheet.width / _CELL) + 2
        self._rows = int(self.sheet.height / _CELL) + 2
        self._cells = [[0] * self._columns for _ in range(self._rows)]

    def sprinkle(self, points: tuple[Point, ...], weight: int) -> None:
        """Note that something lies at these points and on the straight lines between them."""
        for (ax, ay), (bx, by) in pairwise(points):
            pieces = int(max(abs(bx - ax), abs(by - ay)) / _CELL) + 1
            for piece in range(pieces + 1):
                self._note(ax + (bx - ax) * piece / pieces, ay + (by - ay) * piece / pieces, weight)

    def settle(self) -> None:
        """Sum up the soft map so that any box is weighed in four look-ups."""
        sums = [[0] * (self._columns + 1)]
        for row in self._cells:
            sums.append(list(map(add, sums[-1], accumulate(row, initial=0))))
        self._soft = sums

    def weigh(self, box: Box) -> float:
        """How much of the drawing a box would cover."""
        left, right = max(int(box.left / _CELL), 0), min(int(box.right / _CELL), self._columns - 1)
        top, bottom = max(int(box.top / _CELL), 0), min(int(box.bottom / _CELL), self._rows - 1)
        sums = self._soft
        return sums[bottom + 1][right + 1] - sums[top][right + 1] - sums[bottom + 1][left] + sums[top][left]

    def is_free(self, box: Box) -> bool:
        """Whether a box lies on the sheet and on nothing hard."""
        if not self.sheet.contains(box):
            return False
        left, top, right, bottom = box.left, box.top, box.right, box.bottom
        for other in self.hard:
            if left < other.right and other.left < right and top < other.bottom and other.top < bottom:
                return False
        return True

    def _note(self, x: float, y: float, weight: int) -> None:
        column, row = int(x / _CELL), int(y / _CELL)
        if 0 <= row < self._rows and 0 <= column < self._columns:
            cells = self._cells[row]
            if cells[column] < weight:
                cells[column] = weight


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
    best: tuple[float, Box] | None = None
    reach = site.symbol.radius - 2.4
    for distance in _DISTANCES:
        for rank, turn in enumerate(_TURNS):
            x = site.point[0] + cos(turn) * (distance + max(reach, 0))
            y = site.point[1] + sin(turn) * (distance + max(reach, 0))
            left = x - SQUARE / 2 if cos(turn) > -0.3 else x + SQUARE / 2 - wide
            box = Box(left, y - SQUARE / 2, left + wide, y + SQUARE / 2)
            if not crowd.is_free(box):
                continue
            cost = crowd.weigh(box) + distance * 0.7 + rank * 0.05
            if best is None or cost < best[0]:
                best = (cost, box)
        if best is not None and best[0] < distance:
            break
    return Tag(site, best[1] if best else _anywhere(crowd, wide), words, square)


def _anywhere(crowd: Crowd, wide: float) -> Box:
    """The first free place on the sheet, row by row from the top; the top left corner where all is full."""
    y = crowd.sheet.top
    while y + SQUARE < crowd.sheet.bottom:
        x = crowd.sheet.left
        while x + wide < crowd.sheet.right:
            box = Box(x, y, x + wide, y + SQUARE)
            if crowd.is_free(box):
                return box
            x += 2.5
        y += 2.5
    return Box(crowd.sheet.left, crowd.sheet.top, crowd.sheet.left + wide, crowd.sheet.top + SQUARE)


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
