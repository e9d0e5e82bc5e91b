"""A single stem of fruit spurs: slanted or upright."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, stem_acts
from gardens.training.places import Place, longer_side, room_along
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Cordons:
    """One stem, planted at its angle; it is there from the first day and only has to reach its end."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """The stem, as far as the support goes at its angle."""
        angle = form.number("stem_angle_deg")
        side = 0 if angle == 90 else longer_side(facts)
        room = room_along(facts, (0, 0), side, angle)
        if form.has("greatest_height_mm"):
            room = min(room, form.number("greatest_height_mm"))
        stem = Limb(
            key="leader",
            kind="leader",
            tier=1,
            side=side,
            wanted_mm=int(room),
            angle_deg=angle,
            parent="",
        )
        return (
            Place(
                limb=stem,
                bearer="planting",
                cut_mm=0,
                wave=1,
                first_angle_deg=angle,
                winter_share=0.0,
            ),
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Plant at the slant, spur the side shoots, let the stem run to the top."""
        yield from stem_acts.cordon_year(view)
        yield from acts.around_the_frame(view)
