"""How a business trains: the choices the trade leaves open, each with the usual one as default."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, kw_only=True)
class TrainingPractice:
    """Settings of the business. Lengths in mm, angles in degrees above the horizontal, shares from 0 to 1.

    ``heading_margin_mm`` None takes the form's own margin (tiers: cut 5 cm above the wire); 0 cuts at the wire, a
    negative margin below it. ``first_cut_mm`` fixes the first cut at a height above the ground whatever the wire.
    ``low_shoots`` "keep_first_year" leaves them through the first season to feed the roots. ``arm_winter_cut``:
    "weak_third" takes a third of the new growth of arms that grew less than expected, "third" of all, "tip" only the
    tip, "by_angle" half of uprights, a third of slanted and the tip of flat limbs, "none" leaves them.
    ``asks_for_upkeep`` adds the care of side wood to the steps (blossom, summer cuts, spurs), of which the species rules
    know more. ``stem_at_top`` says what a slanted cordon does at the top wire. ``vine_first_year`` "root" lets a new vine grow
    freely and takes it back to two buds.
    """

    heading_margin_mm: int | None = None
    first_cut_mm: int | None = None
    short_leader_share: float = 1 / 3
    low_shoots: Literal["keep_first_year", "remove"] = "keep_first_year"
    arm_winter_cut: Literal["weak_third", "third", "tip", "by_angle", "none"] = "weak_third"
    keep_spare_shoot: bool = True
    wait_for_strong_first_arms: bool = False
    balance_trigger: float = 0.8
    balance_turn_deg: float = 15
    blossom_off_seasons: int = 3
    lateral_keep_leaves: int = 3
    sublateral_keep_leaves: int = 1
    leave_below_mm: int = 200
    regrowth: Literal["one_leaf", "to_base"] = "one_leaf"
    spur_thin_from_season: int = 7
    stem_at_top: Literal["cut_tip", "lower"] = "cut_tip"
    vine_first_year: Literal["root", "train"] = "root"
    vine_cane_min_mm: int = 8
    full_share: float = 0.95
    renovation_seasons: int = 3
    renovation_share: float = 1 / 3
    asks_for_upkeep: bool = True

    def __post_init__(self) -> None:
        for name in ("short_leader_share", "balance_trigger", "full_share", "renovation_share"):
            if not 0 < getattr(self, name) <= 1:
                raise ValueError(f"{name} is a share above 0 and at most 1, not {getattr(self, name)}")
        if self.renovation_seasons < 1:
            raise ValueError("a renovation takes at least one season")


USUAL = TrainingPractice()
