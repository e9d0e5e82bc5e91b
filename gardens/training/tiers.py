"""Pairs of arms along the wires: horizontal tiers and the low step-over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts
from gardens.training.places import LEAST_ARM_MM, SIDES, Place, run_of, straight, tier_count, wires_of
from gardens.training.state import Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Tiers:
    """A trunk that is cut at each wire in turn, with one arm to each side of every wire."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """One arm to each side of every wire, as far as the run goes."""
        count = 1 if form.id == "step_over" else tier_count(facts, form)
        first, final = form.number("arm_first_angle_deg"), form.number("arm_final_angle_deg")
        return tuple(
            Place(
                limb=straight(f"arm:{tier}:{name}", "arm", (0, wire), side, final, run_of(facts, side), tier=tier),
                bearer="leader",
                cut_mm=wire,
                wave=tier,
                first_angle_deg=first,
                takes_margin=True,
            )
            for tier, wire in enumerate(wires_of(facts, form, count), start=1)
            for side, name in SIDES
            if run_of(facts, side) >= LEAST_ARM_MM
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Head at the wire, choose, slant, lower, shorten."""
        yield from acts.usual_year(view)
