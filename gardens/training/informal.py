"""The informal flat tree: any limbs that lie flat to the wall, at free angles and heights."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts
from gardens.training.places import Place, room_along, sides_with_room, tier_count, wires_of
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView

ANGLES_DEG = (32.0, 35.0, 38.0, 42.0, 46.0, 50.0, 54.0, 58.0)
"""A free hand: no two neighbours alike, all between 30 and 60 degrees, the higher the steeper: no limb crosses another."""
LEAST_LIMB_MM = 300


class Informals:
    """Limbs left and right in turn, roughly a hand's span apart, each at the angle its shoot offers."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """A limb to each side of every wire, the right one a little lower than the left but for the first pair."""
        wires = wires_of(facts, form, tier_count(facts, form))
        offset = int(form.number("stagger_mm"))
        places: list[Place] = []
        for tier, wire in enumerate(wires, start=1):
            for side, name in sides_with_room(facts):
                height = wire - (offset if side > 0 and tier > 1 else 0)
                angle = ANGLES_DEG[min(2 * (tier - 1) + (side > 0), len(ANGLES_DEG) - 1)]
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
                    cut_mm=wire,
                    along_mm=height,
                    wave=tier,
                    first_angle_deg=angle,
                    takes_margin=True,
                )
                places += [place] if room >= LEAST_LIMB_MM or tier == 1 else []
        return tuple(places)

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Bend rather than cut; choose limbs that lie flat, keep none below the first wire."""
        yield from acts.usual_year(view)
