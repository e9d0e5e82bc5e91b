"""The value types of supports: what stands or is to stand, what grows on it, what is said about each part.

Lengths in whole mm, forces in N, temperatures in °C, speeds in m/s. Heights are above the ground. Ids of materials are
those of `gardens/knowledge/materials`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, get_args

from gardens.supports.rows import RowsWish
from gardens.supports.wires import Wire

SupportKind = Literal["wall", "fence", "post_and_wire"]
SUPPORT_KINDS: tuple[str, ...] = get_args(SupportKind)

EndKind = Literal["tie_back", "h_brace", "strut", "bare"]
END_KINDS: tuple[str, ...] = get_args(EndKind)
"""How the end of a row is held: a stay to an anchor outside the row, two posts with a rail and a diagonal, a strut on
the row side, or the post alone."""

PartVerdict = Literal["fine", "near_its_limit", "not_proved", "not_enough"]
VERDICT_WORDS: dict[PartVerdict, str] = {
    "fine": "fine",
    "near_its_limit": "near its limit",
    "not_proved": "not proved",
    "not_enough": "not enough",
}
"""From good to bad. "not proved": it holds on paper, but the limit was assumed and not measured here."""


@dataclass(frozen=True, kw_only=True)
class Fixing:
    """What holds a wire at a wall, a fence or a post.

    ``kind`` of `fixings.toml`; ``diameter_mm`` of the shank or bolt; ``bolt_gap_mm`` between the two bolts of a
    bracket; ``anchor`` is a wall anchor ("plastic_plug", "sleeve", "resin_stud") or "wood" with ``thread_mm`` in
    ``timber``; ``tested_n`` the load of a recorded pull test. ``metal``: "hot_dip", "electroplated", "stainless".
    """

    kind: str = "vine_eye"
    diameter_mm: float = 6
    bolt_gap_mm: int = 0
    anchor: str = "plastic_plug"
    thread_mm: int = 0
    timber: str = "pine"
    tested_n: float | None = None
    metal: str = "hot_dip"


@dataclass(frozen=True, kw_only=True)
class Post:
    """A post in the ground. ``size_mm`` is its diameter or side, ``wall_mm`` the thickness of a tube.

    ``section_mm3`` is the section modulus of a rolled post, from its maker. ``collar_mm`` the width of a concrete
    collar. ``setting`` of `posts.toml`: "driven", "dug", "concrete".
    """

    kind: str = "round_softwood"
    size_mm: int = 100
    length_mm: int = 2400
    depth_mm: int = 750
    setting: str = "driven"
    wall_mm: float = 0
    section_mm3: float | None = None
    collar_mm: int = 0

    def __post_init__(self) -> None:
        if not 0 < self.depth_mm < self.length_mm:
            raise ValueError(f"a post of {self.length_mm} mm cannot stand {self.depth_mm} mm in the ground")

    @property
    def above_ground_mm(self) -> int:
        """What stands out of the ground. [mm]"""
        return self.length_mm - self.depth_mm


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """What keeps an end from pulling out: ``kind`` of `soils.toml`, the plate's width and depth, or a tested pull."""

    kind: str = "screw_plate"
    plate_mm: int = 150
    depth_mm: int = 1200
    is_waterlogged: bool = False
    tested_n: float | None = None


@dataclass(frozen=True, kw_only=True)
class End:
    """How both ends of a row are held.

    ``height_mm``: where stay, rail or strut meets the post; ``angle_deg``: of a stay to the ground; ``reach_mm``: from
    the end post to the inner post or to the foot of the strut; ``stay_mm`` and ``stay_strands``: the stay or diagonal
    wire; ``rail_mm``: width of the rail.
    """

    kind: EndKind = "tie_back"
    post: Post = field(default_factory=lambda: Post(size_mm=125, length_mm=2700, depth_mm=900))
    height_mm: int = 1600
    angle_deg: float = 60
    reach_mm: int = 2400
    anchor: Anchor = field(default_factory=Anchor)
    stay_mm: float = 3.15
    stay_strands: int = 2
    rail_mm: int = 100

    def __post_init__(self) -> None:
        if not 0 < self.angle_deg < 90 or self.height_mm <= 0 or self.reach_mm <= 0:
            raise ValueError("an end needs a height and a reach above zero and an angle between 0 and 90°")


@dataclass(frozen=True, kw_only=True)
class Plant:
    """A tree or vine on the support, or several alike.

    ``width_mm`` along the run and the height of the face from ``bottom_mm`` to ``top_mm``, each plant. ``crop_kg`` of
    one plant; None takes the handbook figure of species and form. ``age_years`` since planting.
    """

    species: str
    form: str
    width_mm: int
    bottom_mm: int
    top_mm: int
    count: int = 1
    age_years: float = 0
    crop_kg: float | None = None
    tiers: int = 0

    def __post_init__(self) -> None:
        if self.width_mm <= 0 or not 0 <= self.bottom_mm < self.top_mm or self.count < 1:
            raise ValueError("a plant needs a width, a face that rises from bottom to top, and a count of at least 1")

    @property
    def face_m2(self) -> float:
        """Outline of all of them. [m²]"""
        return self.count * self.width_mm * (self.top_mm - self.bottom_mm) / 1e6


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """The place: temperatures [°C], gust [m/s], ice [mm on the wire], air, ground, and who walks below.

    ``assumed`` names those of these that nobody gave.
    """

    coldest_c: float = -10
    warmest_c: float = 35
    strung_at_c: float = 15
    gust_m_s: float = 28
    ice_mm: float = 0
    exposure: str = "town"
    soil: str = "unknown"
    cover: str = "leaf"
    people_pass: bool = False
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.coldest_c <= self.strung_at_c <= self.warmest_c:
            raise ValueError("coldest ≤ strung_at ≤ warmest must hold")


@dataclass(frozen=True, kw_only=True)
class Support:
    """A support, standing or planned: one straight run.

    ``tension_n`` is what the wires are given when strung; ``hold_gap_mm`` the distance from eye to eye or post to
    post; ``slides`` whether the wire slides through those holds. Walls and fences have ``end_fixing`` and ``fixing``
    (in between) and a ``wall``; rows have ``post`` and ``end``. ``faces_deg``: where the trained side faces. ``slope_percent``:
    how much the ground rises along the run, to the right. ``rows``: several like it, one behind the other.
    """

    kind: SupportKind
    run_mm: int
    height_mm: int
    wire_heights_mm: tuple[int, ...]
    wire: Wire
    tension_n: float
    hold_gap_mm: int
    joint: str = "hand_wrap"
    slides: bool = False
    gap_mm: int = 100
    spring_n_per_mm: float | None = None
    wall: str | None = None
    fixing: Fixing | None = None
    end_fixing: Fixing | None = None
    post: Post | None = None
    end: End | None = None
    plants: tuple[Plant, ...] = ()
    surroundings: Surroundings = field(default_factory=Surroundings)
    faces_deg: float | None = None
    slope_percent: float = 0
    rows: RowsWish | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if min(self.run_mm, self.height_mm, self.hold_gap_mm) <= 0 or self.tension_n <= 0:
            raise ValueError("run, height, distance of the holds and tension must be above zero")
        if not self.wire_heights_mm or any(low >= high for low, high in pairwise((0, *self.wire_heights_mm))):
            raise ValueError("wire heights must rise from wire to wire, the lowest above the ground")
        if self.wire_heights_mm[-1] > self.height_mm:
            raise ValueError("the top wire lies above the support")

    @property
    def spans(self) -> int:
        """Number of spans between holds."""
        return max(1, -(-self.run_mm // self.hold_gap_mm))

    @property
    def span_mm(self) -> float:
        """True distance from hold to hold: the run cut into equal spans. [mm]"""
        return self.run_mm / self.spans

    @property
    def is_row(self) -> bool:
        """Whether it stands on posts of its own."""
        return self.post is not None and self.end is not None


@dataclass(frozen=True, kw_only=True)
class PartCheck:
    """What was asked of one part and whether it is enough.

    ``demand`` against ``limit`` in ``unit``; ``is_floor`` says that the limit is a least value and not a most.
    ``ratio`` is the share of the limit that is used, above 1 means not enough. ``cure`` is "" where all is fine.
    ``assumed`` names the inputs that the answer rests on and nobody measured.
    """

    rule: str
    part: str
    question: str
    demand: float
    limit: float
    unit: str
    ratio: float
    verdict: PartVerdict
    formula: str
    source: str
    is_floor: bool = False
    cure: str = ""
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


def worst(verdicts: tuple[PartVerdict, ...]) -> PartVerdict:
    """The verdict of the whole: that of its worst part."""
    order = list(VERDICT_WORDS)
    return max(verdicts, key=order.index, default="fine")
