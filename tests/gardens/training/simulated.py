"""Trees grown by dice, season by season, by plain rules written anew: the truth that forecasts are held against.

Tiers only: one arm to each side of every wire, the leader cut 5 cm above it, a third off a short leader, a third off an
arm that grew less than expected, limbs held at the end of their run.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date

from gardens.training import Record, TreeFacts
from gardens.training.growth import prior_for
from tests.gardens.training.trees import measured

FULL_SHARE = 0.95
MARGIN = 50


@dataclass
class GrownTree:
    """One tree's truth. Lengths in mm."""

    facts: TreeFacts
    dice: random.Random
    records: list[Record] = field(default_factory=list)
    full_at: float | None = None
    set_in: dict[int, int] = field(default_factory=dict)

    def grow(self, seasons: int = 60) -> GrownTree:
        prior = prior_for(self.facts)
        spread = {"leader": prior.leader_cv, "arm": prior.arm_cv}
        of_season = (1 - prior.tree_share - prior.limb_share) ** 0.5
        lead = self.dice.gauss(1, spread["leader"] * prior.tree_share**0.5)
        lead = self.dice.gauss(lead, spread["leader"] * prior.limb_share**0.5)
        tree = self.dice.gauss(1, spread["arm"] * prior.tree_share**0.5)
        arms = {
            (tier, side): self.dice.gauss(tree, spread["arm"] * prior.limb_share**0.5)
            for tier in range(len(self.facts.wire_heights_mm))
            for side in "lr"
        }
        lengths: dict[tuple[int, str], float] = {}
        last: dict[tuple[int, str], tuple[float, float]] = {}
        height, grown, next_wire = float(prior.whip_mm), 0.0, 0
        for year in range(2026, 2026 + seasons):
            if next_wire < len(self.facts.wire_heights_mm):
                cut = self.facts.wire_heights_mm[next_wire] + MARGIN
                if height >= cut:
                    height = cut
                    lengths |= {(next_wire, side): 0.0 for side in "lr"}
                    self.set_in[next_wire + 1] = year
                    next_wire += 1
                else:
                    height -= grown / 3
            planting = prior.planting_share if year == 2026 else 1.0
            for arm, before in lengths.items():
                wanted = float(self.wanted(arm))
                if arm in last and before < wanted * FULL_SHARE and last[arm][0] < 0.98 * last[arm][1]:
                    before -= last[arm][0] / 3
                age = year - self.set_in[arm[0] + 1]
                expected = prior.mean(45.0 if age == 0 else 0.0, age) * planting
                gain = expected * max(0.05, self.dice.gauss(arms[arm], spread["arm"] * of_season))
                last[arm] = (gain, expected)
                lengths[arm] = min(wanted, before + gain)
                self._note_full(year, arm, before, gain)
            grown = prior.leader * planting * max(0.05, self.dice.gauss(lead, spread["leader"] * of_season))
            if next_wire < len(self.facts.wire_heights_mm):
                height += grown
            self._measure(year, lengths, height if next_wire < len(self.facts.wire_heights_mm) else None)
        return self

    def wanted(self, arm: tuple[int, str]) -> int:
        return self.facts.run_left_mm if arm[1] == "l" else self.facts.run_right_mm

    def _note_full(self, year: int, arm: tuple[int, str], before: float, gain: float) -> None:
        self._full = getattr(self, "_full", {})
        goal = self.wanted(arm) * FULL_SHARE
        if arm not in self._full and before + gain >= goal:
            self._full[arm] = year + (goal - before) / gain
        if len(self._full) == 2 * len(self.facts.wire_heights_mm):
            self.full_at = max(self._full.values())

    def _measure(self, year: int, lengths: dict[tuple[int, str], float], height: float | None) -> None:
        day = date(year, 11, 20)
        for (tier, side), mm in lengths.items():
            limb = f"arm:{tier + 1}:{'left' if side == 'l' else 'right'}"
            self.records.append(measured(day, "limb_length", round(mm), limb))
        if height is not None:
            self.records.append(measured(day, "leader_height", round(height)))
