"""Vines: lasting rods with spurs, yearly canes, arms on several wires."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, vine_acts
from gardens.training.places import Place, run_of, sides_with_room, wires_of
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView


class Vines:
    """A trunk, then rods, canes or arms from its head; fruit comes on the shoots of the year."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """Rods, canes or tiers of arms, as the form has them."""
        if form.id == "vine_tiers":
            return _tiers(facts, form)
        if form.id == "vine_cane_replacement":
            return _canes(facts, form)
        if is_upright(facts, form):
            return _upright_rod(facts, form)
        wire = wires_of(facts, form, 1)[0] if wires_of(facts, form, 1) else facts.height_mm
        return tuple(
            _sideways(facts, form, (f"rod:{number}", "rod"), (wire, wire, side))
            for number, (side, _) in enumerate(sides_with_room(facts), start=1)
        )

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Root, raise the trunk, lay the rods or canes, spur them every winter."""
        yield from vine_acts.vine_year(view)
        yield from acts.around_the_frame(view)


def is_upright(facts: TreeFacts, form: FormRecord) -> bool:
    """Whether a rod-and-spur vine goes up the wall: where it has little room to either side."""
    return facts.run_left_mm + facts.run_right_mm < form.number("upright_below_width_mm")


def _upright_rod(facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
    length = facts.height_mm - min(form.number("upright_top_gap_mm"), facts.height_mm * 0.25)
    rod = Limb(key="rod:1", kind="rod", tier=1, wanted_mm=int(length), angle_deg=90.0, parent="")
    return (
        Place(
            limb=rod,
            bearer="planting",
            cut_mm=0,
            wave=1,
            first_angle_deg=90.0,
            winter_share=0.0,
        ),
    )


def _canes(facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
    wires = wires_of(facts, form, 1)
    wire = wires[0] if wires else facts.height_mm
    head = max(100, wire - int(form.number("head_below_wire_mm")))
    return tuple(
        _sideways(facts, form, (f"cane:{name}", "cane"), (head, wire, side)) for side, name in sides_with_room(facts)
    )


def _tiers(facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
    count = facts.tiers or int(form.number("usual_tiers"))
    wires = list(facts.wire_heights_mm)
    heights = tuple(wires[-count:]) if len(wires) > count else wires_of(facts, form, count)
    heights = tuple(height for height in heights if height <= facts.height_mm)
    return tuple(
        replace(_sideways(facts, form, (f"arm:{tier}:{name}", "arm"), (heights[-1], height, side), tier=tier), wave=1)
        for tier, height in enumerate(heights, start=1)
        for side, name in sides_with_room(facts)
    )


def _sideways(
    facts: TreeFacts,
    form: FormRecord,
    what: tuple[str, Literal["arm", "rod", "cane"]],
    where: tuple[int, int, int],
    *,
    tier: int = 1,
) -> Place:
    """A limb along the wire from the trunk; ``where`` is (height of the cut, of the wire, side)."""
    head, wire, side = where
    wanted: float = run_of(facts, side)
    if form.has("longest_cane_mm"):
        wanted = min(wanted, form.number("longest_cane_mm"))
    return Place(
        limb=Limb(
            key=what[0],
            kind=what[1],
            tier=tier,
            side=side,
            wanted_mm=int(wanted),
            angle_deg=0.0,
            origin_y_mm=min(head, wire),
        ),
        bearer="leader",
        cut_mm=head,
        along_mm=min(head, wire),
        wave=tier,
        first_angle_deg=form.number("first_angle_deg"),
        takes_margin=True,
        winter_share=0.0,
    )


def trunk_cut(wire_mm: int, thickness: Sequence[tuple[int, float]], least_mm: float = 8.0) -> int | None:
    """Where a young vine's cane is cut for the trunk: at the wire, or lower where it is still thick enough.

    Args:
        wire_mm: the height of the wire.
        thickness: (height, thickness) pairs measured along the cane, both in mm.
        least_mm: how thick the cane must be at the cut.

    Returns:
        The height of the cut above ground [mm], None where the cane is thick enough nowhere and goes back to two buds.
        Source: Vine training years 1-2 and 3 on, wine growers' page.
    """
    sound = [height for height, thick in thickness if thick >= least_mm and height <= wire_mm]
    return max(sound) if sound else None
