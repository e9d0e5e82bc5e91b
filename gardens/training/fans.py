"""The true fan: two slanted arms off a short trunk, ribs above and below them, nothing in the middle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gardens.knowledge.form_schema import FormRecord
from gardens.training import acts, fan_acts
from gardens.training.places import Place, direction, room_along, sides_with_room
from gardens.training.state import Limb, Step, TreeFacts

if TYPE_CHECKING:
    from gardens.training.season_view import SeasonView

PEACHES = ("peach", "nectarine")
POME = ("apple", "pear", "quince", "medlar")
FEWEST_RIBS, MOST_RIBS, RIB_GAP_MM, RIBS_IN_A_WAVE = 3, 8, 420, 3
STEEPEST_DEG, FLATTEST_DEG = 84.0, 6.0


class Fans:
    """Two arms, then ribs alternately above and below each, spreading like the sticks of a fan."""

    def places(self, facts: TreeFacts, form: FormRecord) -> tuple[Place, ...]:
        """Arms at the trunk's head, ribs along them, each to the edge of the support."""
        head = min(trunk_height(facts, form), facts.height_mm // 3)
        places: list[Place] = []
        for side, name in sides_with_room(facts):
            arm = _arm(facts, form, (head, side, name))
            places += [arm, *_ribs(facts, form, arm)]
        return tuple(sorted(places, key=lambda place: place.wave))

    def steps(self, view: SeasonView) -> Iterator[Step]:
        """Cut low, raise two arms, shorten them, raise ribs, shorten those."""
        yield from fan_acts.fan_year(view)
        yield from acts.around_the_frame(view)


def trunk_height(facts: TreeFacts, form: FormRecord) -> int:
    """Where the stem is cut: higher for peaches, which break well from below. [mm]"""
    if facts.species in PEACHES:
        return int(form.number("trunk_peach_mm"))
    if facts.species == "fig":
        return int(form.number("trunk_fig_mm"))
    if facts.species.startswith(POME):
        return int(form.number("trunk_pome_mm"))
    return int(form.number("trunk_mm"))


def _arm(facts: TreeFacts, form: FormRecord, where: tuple[int, int, str]) -> Place:
    head, side, name = where
    angle = form.number("arm_final_angle_deg")
    first = form.number("arm_first_angle_peach_deg" if facts.species in PEACHES else "arm_first_angle_deg")
    return Place(
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
        first_angle_deg=first,
        winter_share=form.number("extension_cut_share"),
    )


@dataclass(frozen=True)
class _Stick:
    """One rib: how far along the arm it leaves, and at what angle."""

    along: float
    angle: float


def _ribs(facts: TreeFacts, form: FormRecord, arm: Place) -> list[Place]:
    sticks = _sticks(form, arm)
    places = []
    dx, dy = direction(arm.limb.side, arm.limb.angle_deg)
    for index, stick in enumerate(sticks):
        origin = (round(dx * stick.along), round(arm.limb.origin_y_mm + dy * stick.along))
        wave = 2 + index // RIBS_IN_A_WAVE
        rib = Limb(
            key=f"rib:{index + 1}:{arm.limb.key.rsplit(':', 1)[1]}",
            kind="rib",
            tier=wave,
            side=arm.limb.side,
            wanted_mm=int(room_along(facts, origin, arm.limb.side, stick.angle)),
            angle_deg=stick.angle,
            origin_x_mm=origin[0],
            origin_y_mm=origin[1],
            parent=arm.limb.key,
        )
        places.append(
            Place(
                limb=rib,
                bearer=arm.limb.key,
                cut_mm=int(sticks[(wave - 2) * RIBS_IN_A_WAVE].along),
                along_mm=int(stick.along),
                wave=wave,
                first_angle_deg=stick.angle,
                winter_share=form.number("extension_cut_share"),
            )
        )
    return places


def _sticks(form: FormRecord, arm: Place) -> list[_Stick]:
    """Two ribs above the arm for one below it, in turn, their angles spread evenly between upright, arm and wire."""
    length, angle = arm.limb.wanted_mm, arm.limb.angle_deg
    count = max(FEWEST_RIBS, min(MOST_RIBS, int(length / RIB_GAP_MM) + 1))
    spacing = min(form.number("rib_step_mm"), length * 0.75 / count)
    start = min(form.number("first_rib_mm"), length * 0.2)
    below = [index for index in range(count) if index % RIBS_IN_A_WAVE == 1]
    above = [index for index in range(count) if index not in below]
    angles = dict(zip(above, _spread(STEEPEST_DEG, angle, len(above)), strict=True))
    angles |= dict(zip(below, _spread(FLATTEST_DEG, angle, len(below)), strict=True))
    return [_Stick(start + index * spacing, angles[index]) for index in range(count)]


def _spread(outer: float, arm: float, count: int) -> list[float]:
    """``count`` angles from the outer edge toward the arm, evenly, without reaching it."""
    return [outer + (arm - outer) * index / (count + 0.5) for index in range(count)]
