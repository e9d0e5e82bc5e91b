"""The oblique palmette: a trunk with pairs of limbs held at a slant for good."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts
from gardens.training.places import Place, room_along, sides_with_room, wires_of
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Palmettes:
    """Pairs of slanted limbs, tier over tier, as long as each has room to run."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """Slanted limbs from every tier where at least a short one fits."""
        angle, least = form.number("limb_angle_deg"), form.number("least_limb_mm")
        tiers = facts.tiers or min(len(facts.wire_heights_mm) or 99, int(form.number("usual_tiers")))
        places = []
        for tier, height in enumerate(wires_of(facts, form, tiers), start=1):
            for side, name in sides_with_room(facts):
                room = room_along(facts, (0, height), side, angle)
                place = Place(
                    limb=Limb(
                        key=f"arm:{tier}:{name}",
                        kind="arm",
                        tier=tier,
                        side=side,
                        wanted_mm=int(room),
                        angle_deg=angle,
                        origin_y_mm=height,
                    ),
                    bearer="leader",
                    cut_mm=height,
                    along_mm=height,
                    wave=tier,
                    first_angle_deg=form.number("first_angle_deg"),
                    takes_margin=True,
                    winter_share=form.number("first_tier_cut_share") if tier == 1 else 0.0,
                )
                places += [place] if room >= least or tier == 1 else []
        return tuple(places)

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Head at each tier, tie at the slant, balance; above the last tier the leader comes out."""
        yield from acts.usual_year(view)
