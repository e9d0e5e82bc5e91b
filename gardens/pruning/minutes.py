"""How long a piece of work takes one trained person: the labour standards applied to a tree as it stands.

The standards are priors; each business learns its own from what its crews record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import radians, sin

from gardens.knowledge.ground_schema import Factor, Standard
from gardens.knowledge.load import Knowledge
from gardens.knowledge.schema import Species
from gardens.knowledge.words import form_group
from gardens.training import width_taken_mm
from gardens.training.state import Limb, TreeState

REACH_MM = 1900
"""Above this height above the ground a person works from steps. Source: common practice."""
TIES_PER_M = 4.0
CLUSTERS_PER_M = 10.0
"""Clusters looked at along a metre of arm. Source: house default (one in 10 cm)."""
KG_PER_M = 1.0
LEAST_ARM_M = 0.5

BEARING_LIMBS = ("arm", "rib", "axis", "rod", "cane")


@dataclass(frozen=True)
class Size:
    """What of a tree the standards count. Lengths in m, area in m²."""

    state: TreeState

    @cached_property
    def limbs(self) -> tuple[Limb, ...]:
        """The limbs that carry side wood; the leader counts where there is nothing else (cordons)."""
        bearing = tuple(limb for limb in self.state.limbs if limb.kind in BEARING_LIMBS and limb.status != "lost")
        return bearing or tuple(limb for limb in self.state.limbs if limb.kind == "leader")

    @cached_property
    def arm_m(self) -> float:
        """Length of all bearing limbs. [m]"""
        return max(sum(limb.length_mm for limb in self.limbs) / 1000, LEAST_ARM_M)

    @cached_property
    def face_m2(self) -> float:
        """Wall face the tree covers: its place on the support × the part of it that is filled. [m²]"""
        facts = self.state.facts
        place = width_taken_mm(facts) * facts.height_mm / 1e6
        wanted = sum(limb.wanted_mm for limb in self.limbs)
        filled = min(1.0, sum(limb.length_mm for limb in self.limbs) / wanted) if wanted else 0.3
        return max(place * filled, 0.5)

    @cached_property
    def high_share(self) -> float:
        """Part of the bearing wood that is out of reach from the ground, 0 … 1."""
        total = sum(limb.length_mm for limb in self.limbs)
        if not total:
            return 0.0
        return sum(_length_above(limb, REACH_MM) for limb in self.limbs) / total

    def units(self, unit: str, limb: str) -> float:
        """How many units of a standard one need on ``limb`` asks for."""
        one = None if limb == "whole" else self.state.limb(limb)
        arm_m = max(one.length_mm / 1000, LEAST_ARM_M / 2) if one is not None else self.arm_m
        if unit == "m_arm":
            return arm_m
        if unit == "m2_face":
            return self.face_m2 * (arm_m / self.arm_m if one is not None else 1.0)
        if unit == "tie":
            ties = [tie for tie in self.state.ties if limb in ("whole", tie.limb)]
            return float(len(ties)) or TIES_PER_M * arm_m
        if unit == "arm":
            return 1.0 if one is not None else float(max(len(self.limbs), 1))
        if unit == "cluster":
            return CLUSTERS_PER_M * arm_m
        if unit == "kg":
            return KG_PER_M * arm_m
        if unit == "wire":
            return float(max(len(self.state.facts.wire_heights_mm), 1))
        return 1.0


def _length_above(limb: Limb, height_mm: int) -> float:
    """Length of a limb that lies above a height, the limb taken as straight from its origin. [mm]"""
    rise = limb.length_mm * sine(limb.angle_deg)
    top = limb.origin_y_mm + rise
    if limb.origin_y_mm >= height_mm:
        return float(limb.length_mm)
    if top <= height_mm:
        return 0.0
    return limb.length_mm * (top - height_mm) / rise


def sine(angle_deg: float) -> float:
    return sin(radians(angle_deg))


def standard_for(kind: str, species: Species, form: str, knowledge: Knowledge, named: str = "") -> Standard | None:
    """The first labour standard that fits a kind of work; the one a rule names goes before."""
    group = form_group(form)
    for standard in knowledge.standards:
        if named:
            if standard.id == named:
                return standard
        elif (
            kind in standard.kinds
            and (not standard.forms or form in standard.forms or group in standard.forms)
            and (not standard.groups or any(name in standard.groups for name in species.lineage))
        ):
            return standard
    return None


def minutes_for(
    standard: Standard | None, size: Size, limb: str, factors: Mapping[str, Factor], *, has_begun: bool = False
) -> float:
    """Minutes of one trained person for one need, rounded to a tenth.

    ``has_begun`` leaves the fixed part out: the same work on another limb of the tree, at the same time.

    minutes = (fixed + per_unit × units) × access × state; access = 1 + share out of reach × steps factor.
    """
    if standard is None:
        return 5.0
    plain = (0.0 if has_begun else standard.fixed) + standard.per_unit * size.units(standard.unit, limb)
    access = (
        1.0 + size.high_share * factors["steps"].value
        if standard.unit in ("m_arm", "m2_face", "tie", "cluster", "kg")
        else 1.0
    )
    condition = factors["neglected"].value if size.state.stage == "renovating" else 1.0
    return round(plain * access * condition, 1)
