"""The lattice: low trunks in a row whose two slanted arms cross those of their neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, frame_acts
from gardens.training.places import Place, room_along, sides_with_room
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Lattices:
    """Two arms at a slant; the row of trees makes the pattern."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """One arm to each side, up to the top of the support or the end of its run."""
        head = min(int(form.number("trunk_mm")), facts.height_mm // 3)
        angle = form.number("arm_angle_deg")
        return tuple(
            Place(
                limb=Limb(
                    key=f"arm:1:{name}",
                    kind="arm",
                    tier=1,
                    side=side,
                    wanted_mm=int(room_along(facts, (0, head), side, angle)),
                    angle_deg=angle,
                    origin_y_mm=head,
                ),
                bearer="leader",
                cut_mm=head,
                along_mm=head,
                wave=1,
                first_angle_deg=angle,
                winter_share=form.number("extension_cut_share"),
            )
            for side, name in sides_with_room(facts)
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Cut low, raise two arms on crossed canes, tie them where they cross."""
        yield from acts.usual_year(view)
        yield from frame_acts.tying_crossings(view, int(view.form.number("tree_spacing_mm")))


def crossings(trunk_mm: float, spacing_mm: float, angle_deg: float, up_to_mm: float) -> tuple[float, ...]:
    """The heights at which arms of neighbours cross: trunk + k · spacing / 2 · tan(angle). [mm]

    The k-th crossing of an arm is with the neighbour k places on.
    """
    step = spacing_mm / 2 * math.tan(math.radians(angle_deg))
    count = max(0, int((up_to_mm - trunk_mm) / step + 1e-9))
    return tuple(trunk_mm + number * step for number in range(1, count + 1))
