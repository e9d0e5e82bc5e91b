"""The true fan: two slanted arms off a short trunk, ribs above and below them, nothing in the middle."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts
from gardens.training.places import LEAST_ARM_MM, SIDES, Place, direction, room_along, run_of, straight
from gardens.training.state import Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView

PEACHES = ("peach", "nectarine")
POME = ("apple", "pear", "quince", "medlar")
FEWEST_RIBS, MOST_RIBS, RIB_GAP_MM = 3, 8, 420
SPREAD_ABOVE_DEG, SPREAD_BELOW_DEG = 38.0, 30.0


class Fans:
    """Two arms, then ribs alternately above and below each, spreading like the sticks of a fan."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """Arms at the trunk's head, ribs along them, each to the edge of the support."""
        head = min(trunk_height(facts, form), facts.height_mm // 3)
        places: list[Place] = []
        for side, name in SIDES:
            if run_of(facts, side) >= LEAST_ARM_MM:
                places += _half(facts, form, (head, side, name))
        return tuple(sorted(places, key=lambda place: place.wave))

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Cut low, raise two arms, shorten them, raise ribs, shorten those."""
        yield from acts.usual_year(view)


def trunk_height(facts: TreeFacts, form: FormRecord) -> int:
    """Where the stem is cut: higher for peaches, which break well from below. [mm]"""
    if facts.species in PEACHES:
        return int(form.number("trunk_peach_mm"))
    if facts.species == "fig":
        return int(form.number("trunk_fig_mm"))
    if facts.species.startswith(POME):
        return int(form.number("trunk_pome_mm"))
    return int(form.number("trunk_mm"))


def _half(facts: TreeFacts, form: FormRecord, where: tuple[int, int, str]) -> list[Place]:
    head, side, name = where
    key, angle = f"arm:1:{name}", form.number("arm_final_angle_deg")
    first = form.number("arm_first_angle_peach_deg" if facts.species in PEACHES else "arm_first_angle_deg")
    length = room_along(facts, (0, head), side, angle)
    arm = straight(key, "arm", (0, head), side, angle, length, tier=1)
    places = [Place(limb=arm, bearer="leader", cut_mm=head, wave=1, first_angle_deg=first)]
    count = max(FEWEST_RIBS, min(MOST_RIBS, int(length / RIB_GAP_MM) + 1))
    spacing = min(form.number("rib_step_mm"), length * 0.75 / count)
    start = min(form.number("first_rib_mm"), length * 0.2)
    dx, dy = direction(side, angle)
    above = 0
    for index in range(1, count + 1):
        along = start + (index - 1) * spacing
        is_below = index % 3 == 2
        above += 0 if is_below else 1
        turn = (
            -SPREAD_BELOW_DEG * (0.7 if index > 3 else 1)
            if is_below
            else SPREAD_ABOVE_DEG * (1.15 - 0.28 * (above - 1))
        )
        rib_angle = max(4.0, min(86.0, angle + turn))
        origin = (round(dx * along), round(head + dy * along))
        rib = straight(
            f"rib:{index}:{name}",
            "rib",
            origin,
            side,
            rib_angle,
            room_along(facts, origin, side, rib_angle),
            tier=2 + (index - 1) // 3,
            parent=key,
        )
        places.append(
            Place(
                limb=rib,
                bearer=key,
                cut_mm=int(start + 3 * ((index - 1) // 3) * spacing),
                wave=2 + (index - 1) // 3,
                first_angle_deg=rib_angle,
            )
        )
    return places
