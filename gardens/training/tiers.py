"""Pairs of arms along the wires: horizontal tiers and the low step-over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, frame_acts
from gardens.training.places import Place, run_of, sides_with_room, tier_count, wires_of
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Tiers:
    """A trunk that is cut at each wire in turn, with one arm to each side of every wire."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """One arm to each side of every wire, as far as the run goes; a one-sided step-over is its own bent stem."""
        count = 1 if form.id == "step_over" else tier_count(facts, form)
        first, final = form.number("arm_first_angle_deg"), form.number("arm_final_angle_deg")
        sides = sides_with_room(facts)
        bends = form.id == "step_over" and len(sides) == 1
        return tuple(
            Place(
                limb=Limb(
                    key=f"arm:{tier}:{name}",
                    kind="arm",
                    tier=tier,
                    side=side,
                    wanted_mm=run_of(facts, side),
                    angle_deg=final,
                    origin_y_mm=wire,
                ),
                bearer="leader",
                cut_mm=wire,
                along_mm=wire,
                wave=tier,
                first_angle_deg=final if bends else first,
                takes_margin=not bends,
                bends_leader=bends,
            )
            for tier, wire in enumerate(wires_of(facts, form, count), start=1)
            for side, name in sides
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Head at the wire, choose, slant, lower, shorten."""
        if any(limb.place.bends_leader for limb in view.limbs):
            yield from frame_acts.bending_over(view)
        yield from acts.usual_year(view)
