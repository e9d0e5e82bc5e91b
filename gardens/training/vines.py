"""Vines: lasting rods with spurs, yearly canes, arms on several wires."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts
from gardens.training.places import LEAST_ARM_MM, SIDES, Place, run_of, straight, wires_of
from gardens.training.state import Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Vines:
    """A trunk, then rods, canes or arms from its head; fruit comes on the shoots of the year."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """Rods to both sides of the lowest wire, or one rod up the wall where there is little room."""
        if facts.run_left_mm + facts.run_right_mm < form.number("upright_below_width_mm"):
            length = facts.height_mm - min(form.number("upright_top_gap_mm"), facts.height_mm * 0.25)
            rod = straight("rod:1", "rod", (0, 0), 0, 90.0, length, tier=1, parent="")
            return (Place(limb=rod, bearer="planting", cut_mm=0, wave=1, first_angle_deg=90.0),)
        wire = wires_of(facts, form, 1)[0]
        final, first = form.number("rod_final_angle_deg"), form.number("rod_first_angle_deg")
        sides = [(side, name) for side, name in SIDES if run_of(facts, side) >= LEAST_ARM_MM]
        return tuple(
            Place(
                limb=straight(f"rod:{number}", "rod", (0, wire), side, final, run_of(facts, side), tier=1),
                bearer="leader",
                cut_mm=wire,
                wave=1,
                first_angle_deg=first,
                takes_margin=True,
            )
            for number, (side, _) in enumerate(sides, start=1)
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Root, raise the trunk, lay the rods, spur them every winter."""
        yield from acts.usual_year(view)
