"""Where a picture lies on its sheet: the scale, the window on the garden, and the way from millimetres of garden to
millimetres of paper."""

from __future__ import annotations

from dataclasses import dataclass

from .canvas import Point
from .geometry import Box
from .style import PAPER_SCALES, Options


@dataclass(frozen=True, slots=True)
class Reach:
    """A rectangle of garden in front of the worker [mm]: x along the support, y above ground, growing upward."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom

    def joined(self, other: Reach) -> Reach:
        return Reach(
            min(self.left, other.left),
            min(self.bottom, other.bottom),
            max(self.right, other.right),
            max(self.top, other.top),
        )

    def grown(self, by: float) -> Reach:
        return Reach(self.left - by, self.bottom - by, self.right + by, self.top + by)


@dataclass(frozen=True, slots=True)
class Margins:
    """White edges around the window [mm of paper]."""

    left: float = 5.0
    top: float = 7.0
    right: float = 17.0
    bottom: float = 11.0


@dataclass(frozen=True, slots=True)
class View:
    """From garden to paper: one scale both ways, y turned over."""

    scale: float
    zero: Point

    def place(self, x: float, y: float) -> Point:
        """The point on paper for a place x along the support and y above ground [mm]."""
        return (self.zero[0] + x / self.scale, self.zero[1] - y / self.scale)

    def paper(self, length: float) -> float:
        """A length of garden as drawn [mm]."""
        return length / self.scale


@dataclass(frozen=True, slots=True)
class SlopedView(View):
    """The same on sloping ground: what is trained along the wires rises with them (``rise`` per mm), trunks stay plumb."""

    rise: float = 0.0

    def place(self, x: float, y: float) -> Point:
        """The point on paper for a place x along the support and y above its wire-parallel ground [mm]."""
        return (self.zero[0] + x / self.scale, self.zero[1] - (y + x * self.rise) / self.scale)


@dataclass(frozen=True, slots=True)
class Frame:
    """The sheet [mm of paper] and the window in it through which the garden is seen."""

    width: float
    height: float
    window: Box
    view: View

    @property
    def sheet(self) -> Box:
        return Box(0.0, 0.0, self.width, self.height)

    @property
    def reach(self) -> Reach:
        """What of the garden the window shows."""
        zero_x, zero_y = self.view.zero
        scale = self.view.scale
        return Reach(
            (self.window.left - zero_x) * scale,
            (zero_y - self.window.bottom) * scale,
            (self.window.right - zero_x) * scale,
            (zero_y - self.window.top) * scale,
        )


def fit(reach: Reach, margins: Margins, options: Options) -> Frame:
    """The frame of the asked width that shows all of a reach as large as it may be."""
    width = options.paper_width
    room_x = max(width - margins.left - margins.right, 4.0)
    room_y = max(options.max_height_mm - margins.top - margins.bottom, 4.0)
    scale = max(reach.width / room_x, reach.height / room_y, 1.0)
    if not (options.is_for_screen or options.compact):
        scale = next((step for step in PAPER_SCALES if step >= scale), scale)
    tall = reach.height / scale
    window = Box(margins.left, margins.top, margins.left + room_x, margins.top + tall)
    middle = (reach.left + reach.right) / 2
    zero = (margins.left + room_x / 2 - middle / scale, margins.top + reach.top / scale)
    return Frame(width, margins.top + tall + margins.bottom, window, View(scale, zero))
