"""How a picture is asked for, and what its lines look like. Widths are millimetres on paper, whatever the scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gardens.units import Units

Season = Literal["dormant", "in_leaf"]

PX_PER_MM = 96 / 25.4
"""CSS pixels in a millimetre (CSS Values and Units 4: 1in = 96px)."""

PAPER_SCALES = (5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500)
"""Scales a printed picture may have, so that a rule laid on the sheet gives a round answer."""

POINT_MM = 25.4 / 72
"""One typographic point."""

LETTERING = 9 * POINT_MM
"""Size of the smallest words: 9 pt. Below that, lettering breaks up on a poor printer."""

HALO = 0.5
LEAST_STROKE = 0.3


@dataclass(frozen=True, slots=True)
class Width:
    """Line widths [mm], from the ISO 128 series where a line carries meaning."""

    trunk: float = 2.0
    arm: float = 1.4
    arm_tip: float = 0.55
    spur: float = 0.5
    off: float = 0.7
    ghost: float = 0.4
    wire: float = 0.35
    post: float = 0.5
    ground: float = 0.5
    hint: float = 0.35
    leaf: float = 0.3


@dataclass(frozen=True, slots=True)
class Ink:
    """Colours of a picture. Colour only repeats what the shape already says."""

    paper: str = "#FFFFFF"
    wood: str = "#171C19"
    steel: str = "#464D49"
    hint: str = "#C3C9C3"
    off: str = "#C2410C"
    tie: str = "#0A5C9E"
    leaf: str = "#1A5235"
    leaf_fill: str = "#CFE3D3"
    leaf_fill_back: str = "#E6F2EA"
    fruit: str = "#5F2A5A"
    fruit_fill: str = "#F6EAF4"
    band: str = "#FFF3D1"
    band_edge: str = "#5C4000"


IN_COLOUR = Ink()
IN_BLACK = Ink(
    wood="#000000",
    steel="#000000",
    hint="#BDBDBD",
    off="#000000",
    tie="#000000",
    leaf="#000000",
    leaf_fill="#FFFFFF",
    leaf_fill_back="#FFFFFF",
    fruit="#000000",
    fruit_fill="#FFFFFF",
    band="#FFFFFF",
    band_edge="#000000",
)


@dataclass(frozen=True, kw_only=True)
class Options:
    """How a picture is wanted.

    ``width_px`` is for screens (the scale is free, only the bar says it), ``width_mm`` for paper (the scale is one of
    `PAPER_SCALES` and named); ``width_px`` wins where both are given. ``max_height_mm`` bounds the height in the same
    paper millimetres (a screen pixel is 25.4/96 mm). ``id_prefix`` must differ between pictures of one page.
    ``crop_to`` and ``emphasise`` are limb keys. ``compact`` is the small picture in a link: no words, no marks' words,
    hidden from screen readers because the link has the words. ``tappable`` adds an unseen broad line to every limb for
    fingers. ``title`` replaces the words made from the state.
    """

    width_mm: float = 180.0
    width_px: int | None = None
    max_height_mm: float = 125.0
    units: Units = "metric"
    season: Season = "dormant"
    with_fruit: bool = False
    with_ghost: bool = True
    with_ties: bool = True
    black_and_white: bool = False
    compact: bool = False
    tappable: bool = False
    crop_to: str = ""
    emphasise: str = ""
    id_prefix: str = "picture"
    title: str = ""

    def __post_init__(self) -> None:
        if self.paper_width < 12 or self.max_height_mm < 12:
            raise ValueError("a picture needs at least 12 mm (46 px) of width and height")

    @property
    def ink(self) -> Ink:
        return IN_BLACK if self.black_and_white else IN_COLOUR

    @property
    def paper_width(self) -> float:
        """The width in paper millimetres."""
        return self.width_px / PX_PER_MM if self.width_px is not None else self.width_mm

    @property
    def is_for_screen(self) -> bool:
        return self.width_px is not None

    @property
    def boldness(self) -> float:
        """Lines of a small picture are a little finer, or they would run together."""
        return 0.7 if self.compact else 1.0
