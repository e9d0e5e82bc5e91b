"""The value types of training: what was planned for a tree, what was recorded, how it stands, what comes next.

A limb is named by a short key, the same in files, database, drawings and instructions::

    whole                 the tree
    trunk, leader
    tier:2                both arms of tier 2
    arm:2:left            one arm of a tier (left as seen by the worker in front of the support)
    rib:3:right           a rib of a fan, counted from the centre outward on its side
    axis:1                an upright of a candelabra or U, counted from the left
    rod:1, cane:left      a permanent rod or a yearly cane of a vine
    spur:1:left:4         the fourth spur from the trunk on an arm or rod
    lateral:…, shoot:…    side wood, named after the limb it grows from
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal, get_args

Form = Literal[
    "horizontal_tiers",
    "step_over",
    "oblique_cordon",
    "upright_cordon",
    "fan",
    "oblique_palmette",
    "candelabra_palmette",
    "u_form",
    "double_u",
    "lattice",
    "vine_rod_and_spur",
    "vine_cane_replacement",
    "vine_tiers",
    "informal",
]
FORMS: tuple[str, ...] = get_args(Form)

WorkKind = Literal[
    "plant",
    "head_back",
    "select_shoots",
    "rub_out",
    "tie_in",
    "lower_arms",
    "renew_ties",
    "remove_ties",
    "pinch",
    "summer_prune",
    "winter_prune",
    "thin_spurs",
    "renew_wood",
    "shorten_arms",
    "clear_wall_side",
    "remove_low_shoots",
    "thin_fruit",
    "pick",
    "protect_frost",
    "water",
    "feed_mulch",
    "inspect",
    "clean_out",
    "tighten_wires",
    "straighten_posts",
    "erect_support",
    "replace_tree",
]
WORK_KINDS: tuple[str, ...] = get_args(WorkKind)

Start = Literal["whip", "feathered", "ready_trained", "neglected"]
STARTS: tuple[str, ...] = get_args(Start)

TreeStage = Literal["planted", "forming", "extending", "full", "renovating", "lost"]
LimbStatus = Literal["wanted", "chosen", "tied", "set", "lost"]
"""A limb's way: wanted (a place on the plan) > chosen (the shoot is picked) > tied (to its slanted cane) > set
(in its final place). A lost limb is wanted again once its repair starts."""

MeasuredWhat = Literal["leader_height", "limb_length", "limb_angle", "trunk_girth", "season_growth"]
SeenWhat = Literal["stage", "fruit_count", "spur_count", "disease", "weak", "lost", "note"]

RecordKind = Literal["measured", "seen", "done"]


@dataclass(frozen=True, kw_only=True)
class TreeFacts:
    """What was decided when the tree was planted (or taken over). Lengths in mm.

    ``wire_heights_mm`` rises from the lowest wire. ``run_left_mm`` and ``run_right_mm`` are the room along the
    support on either side of the trunk, ``height_mm`` the usable height of the support. ``gap_to_wall_mm`` is 0 where
    there is no wall behind the wires. A slanted cordon and a lattice
    lean over their neighbours' feet, so their run is the room up to the end of the support, not half the gap.
    """

    species: str
    form: str
    planted_on: date
    wire_heights_mm: tuple[int, ...]
    run_left_mm: int
    run_right_mm: int
    height_mm: int
    tiers: int = 0
    rootstock: str | None = None
    start: Start = "whip"
    tiers_at_start: int = 0
    gap_to_wall_mm: int = 150
    cultivar: str = ""
    soil_vigour: float = 1.0
    """How the place grows against fair soil: 0.8 on poor or dry ground, 1.2 on rich ground. [share]"""
    is_southern: bool = False
    """Whether the seasons are those of the southern half of the world."""
    lean: Literal["left", "right", ""] = ""
    """Which way a slanted cordon leans; "" leaves it to the longer run."""
    axes: int = 0
    """How many uprights a candelabra has; 0: two to each tier, or as many as fit."""

    def __post_init__(self) -> None:
        if any(lower >= upper for lower, upper in zip(self.wire_heights_mm, self.wire_heights_mm[1:], strict=False)):
            raise ValueError("wire_heights_mm must rise from wire to wire")
        if self.run_left_mm < 0 or self.run_right_mm < 0 or self.height_mm <= 0:
            raise ValueError("runs must not be negative and the height must be above zero")


@dataclass(frozen=True, kw_only=True)
class Record:
    """One dated fact about a tree; the tree as it stands is the fold of its records.

    ``kind`` "measured" takes ``what`` from `MeasuredWhat`, "seen" from `SeenWhat`, "done" from `WorkKind`.
    ``value`` is in SI-derived units: mm for lengths and heights, degrees above the horizontal for angles, a plain
    number for counts, kg for picked fruit. ``text`` carries a stage key, a tie material, a disease or a note.
    ``key`` orders records of the same day and makes replay exact.
    """

    on: date
    kind: RecordKind
    what: str
    limb: str = "whole"
    value: float | None = None
    text: str = ""
    key: str = ""


@dataclass(frozen=True, kw_only=True)
class Tie:
    """A tie that is on the tree."""

    limb: str
    since: date
    material: str = ""


@dataclass(frozen=True, kw_only=True)
class Limb:
    """One permanent limb of the form, as it stands.

    ``length_mm`` runs along the limb from its origin, ``wanted_mm`` is the length that fills its place;
    ``angle_deg`` is above the horizontal (0 along the wire, 90 upright), ``side`` -1 left, +1 right, 0 centre.
    ``origin_x_mm``/``origin_y_mm`` is where it leaves the trunk (or its parent), x from the trunk, y above ground.
    """

    key: str
    kind: Literal["trunk", "leader", "arm", "rib", "axis", "rod", "cane"]
    tier: int = 0
    side: int = 0
    status: LimbStatus = "wanted"
    length_mm: int = 0
    wanted_mm: int = 0
    angle_deg: float = 90.0
    origin_x_mm: int = 0
    origin_y_mm: int = 0
    parent: str = "trunk"
    is_weak: bool = False
    wanted_angle_deg: float | None = None
    """The angle of the limb in its final place [° above the horizontal]; None: it is there already."""
    season: int = 0
    """The season (year of its spring) in which its shoot broke; 0 while it is only wanted."""
    grown_mm: int = 0
    """What it grew in the season under way, or in the dormant months in the one before. [mm]"""
    is_given_up: bool = False
    """Lost, and left so: the form counts as full without it."""
    course_mm: tuple[tuple[int, int], ...] = ()
    """The way of a limb that bends (the flat foot and the upright of an axis) as (x, y) points from its origin to its
    wanted end [mm]; empty for a straight limb."""


@dataclass(frozen=True, kw_only=True)
class TreeState:
    """The tree on one day: the fold of its records, and of what its form expects where nothing was recorded.

    ``estimated`` is true where lengths come from the growth prior instead of a measurement.
    """

    facts: TreeFacts
    on: date
    stage: TreeStage
    tiers_set: int
    leader_height_mm: int
    limbs: tuple[Limb, ...]
    ties: tuple[Tie, ...] = ()
    girth_mm: int | None = None
    growth_mm: tuple[tuple[int, str, int], ...] = ()
    """Measured season growth: (year, limb key, mm)."""
    done: tuple[tuple[date, str, str], ...] = ()
    """Work recorded: (day, kind, limb)."""
    estimated: bool = False
    notes: tuple[tuple[date, str, str], ...] = ()
    """What was seen and written down: (day, limb, text)."""
    full_since: int | None = None
    """The season in which the form was first full, None before."""
    vigour: tuple[tuple[str, float], ...] = ()
    """Growth of this tree against the prior, learnt from its measurements: (group, factor)."""

    def limb(self, key: str) -> Limb | None:
        """The limb with this key, or None."""
        return next((limb for limb in self.limbs if limb.key == key), None)


@dataclass(frozen=True, kw_only=True)
class Step:
    """The next act on one limb, as the form asks for it.

    ``at_mm`` is the height above ground (for the leader and trunk) or the distance along the limb at which the act
    takes place, where that has a meaning; ``to_angle_deg`` the angle a limb is brought to. ``season`` says in which
    part of the year the form wants it; the species rules decide the dates.
    """

    kind: str
    limb: str
    instruction: str
    why: str
    source: str
    season: Literal["dormant", "spring", "summer", "autumn", "any"]
    at_mm: int | None = None
    to_angle_deg: float | None = None
    year: int = 0
    """The season (year of its spring) the act belongs to. An act of "autumn" comes after that season's growth: in the
    northern half of the world in the autumn of this very year, though the dormant months that follow are the next
    season's."""


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """In which year the form will be full, and each tier set, with 10/50/90 % of the trees. Years of the season."""

    full_p10: int | None
    full_p50: int | None
    full_p90: int | None
    tiers: tuple[tuple[int, int, int, int], ...] = ()
    """(tier, p10, p50, p90)."""
    minutes_per_year: tuple[tuple[int, float], ...] = field(default=())
    """(year, expected minutes of work)."""
