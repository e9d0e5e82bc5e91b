"""One limb on its way through the seasons."""

from __future__ import annotations

from dataclasses import dataclass, field

from gardens.training.growth import Prior, means_by_age
from gardens.training.places import Place
from gardens.training.state import Limb, LimbStatus

FOOT_ANGLE_DEG = 20.0
"""The slope at which the flat foot of an upright is led out; dead flat it would stand still (own default)."""


@dataclass(slots=True)
class Growing:
    """One limb as it grows. Lengths in mm, angles in degrees; ``season`` is the one its shoot broke in, 0 before.

    ``grown`` is what it grew in the season under way, or in the dormant months in the one before; ``rate`` what it
    will grow in the whole season. ``base_known`` says that the length it began the season with was measured or cut,
    ``is_estimated`` that part of its length comes from the prior, ``is_recorded`` that somebody worked on it.
    """

    place: Place
    angle: float
    status: LimbStatus = "wanted"
    season: int = 0
    length: float = 0.0
    grown: float = 0.0
    rate: float = 0.0
    base_known: bool = False
    is_estimated: bool = False
    is_recorded: bool = False
    is_weak: bool = False
    is_accepted: bool = False
    lost_in: int = 0

    key: str = field(init=False)
    wanted: int = field(init=False)
    final_angle: float = field(init=False)
    foot: float = field(init=False)
    """How far a bent limb runs flat before it turns up. [mm]"""

    def __post_init__(self) -> None:
        limb = self.place.limb
        self.key, self.wanted, self.final_angle = limb.key, limb.wanted_mm, limb.angle_deg
        way = limb.course_mm
        self.foot = float(abs(way[1][0] - way[0][0])) if len(way) > 2 else 0.0

    @property
    def is_alive(self) -> bool:
        return self.season > 0 and self.status != "lost"

    def expected(self, prior: Prior, season: int) -> float:
        """What the prior expects of the limb in a season: on its slant in the first, in its place after. [mm]"""
        age = season - self.season
        if age > 0 and self.foot and self.length - self.grown < self.foot:
            return prior.mean(FOOT_ANGLE_DEG, age)
        means = means_by_age(prior, self.place.first_angle_deg, self.final_angle)
        return means[min(age, len(means) - 1)] if age > 0 else means[0]

    def as_limb(self) -> Limb:
        """The limb as others read it."""
        plan = self.place.limb
        angle = self.angle if self.season else self.place.first_angle_deg
        return Limb(
            key=plan.key,
            kind=plan.kind,
            tier=plan.tier,
            side=plan.side,
            status=self.status,
            length_mm=round(self.length),
            wanted_mm=plan.wanted_mm,
            angle_deg=angle,
            origin_x_mm=plan.origin_x_mm,
            origin_y_mm=plan.origin_y_mm,
            parent=plan.parent,
            is_weak=self.is_weak,
            wanted_angle_deg=None if angle == plan.angle_deg else plan.angle_deg,
            season=self.season,
            grown_mm=round(self.grown),
            is_given_up=self.is_accepted,
            course_mm=plan.course_mm,
        )

    @classmethod
    def from_limb(cls, place: Place, limb: Limb | None) -> Growing:
        """A limb taken up again from a state."""
        if limb is None:
            return cls(place=place, angle=place.first_angle_deg)
        return cls(
            place=place,
            angle=limb.angle_deg,
            status=limb.status,
            season=limb.season,
            length=float(limb.length_mm),
            grown=float(limb.grown_mm),
            is_weak=limb.is_weak,
            is_accepted=limb.is_given_up,
            lost_in=limb.season if limb.status == "lost" else 0,
        )
