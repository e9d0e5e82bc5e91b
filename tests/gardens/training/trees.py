"""Trees for the tests of training, and the few words they are asked about with."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from gardens.training import Limb, Record, Step, TreeFacts, TreeState, spacing_for

PLANTED = date(2025, 12, 10)


def tree(**changes: Any) -> TreeFacts:
    """An apple whip for four tiers on wires of 40 to 160 cm, planted in the winter before the season 2026."""
    facts = TreeFacts(
        species="apple_spur",
        form="horizontal_tiers",
        planted_on=PLANTED,
        wire_heights_mm=(400, 800, 1200, 1600),
        run_left_mm=1800,
        run_right_mm=1800,
        height_mm=2000,
    )
    return replace(facts, **changes)


EVERY_FORM: dict[str, dict[str, Any]] = {
    "horizontal_tiers": {},
    "step_over": {"wire_heights_mm": (450,), "run_left_mm": 700, "run_right_mm": 700, "height_mm": 600},
    "oblique_cordon": {},
    "upright_cordon": {},
    "fan": {"species": "peach"},
    "oblique_palmette": {"height_mm": 2600},
    "candelabra_palmette": {"axes": 4},
    "u_form": {},
    "double_u": {},
    "lattice": {},
    "vine_rod_and_spur": {"species": "grape"},
    "vine_cane_replacement": {"species": "grape"},
    "vine_tiers": {"species": "grape", "wire_heights_mm": (990, 1670)},
    "informal": {},
}


def of_form(form: str, **changes: Any) -> TreeFacts:
    """A tree of a form, with a species and wires that suit it."""
    return tree(form=form, **(EVERY_FORM[form] | changes))


def measured(on: date, what: str, value: float, limb: str = "leader") -> Record:
    return Record(on=on, kind="measured", what=what, limb=limb, value=value)


def done(on: date, what: str, limb: str = "whole", value: float | None = None, text: str = "") -> Record:
    return Record(on=on, kind="done", what=what, limb=limb, value=value, text=text)


def seen(on: date, what: str, limb: str = "whole", text: str = "") -> Record:
    return Record(on=on, kind="seen", what=what, limb=limb, text=text)


def only(steps: tuple[Step, ...], kind: str, limb: str | None = None, season: str | None = None) -> Step:
    """The one step of a kind (on a limb, in a part of the season)."""
    found = [
        step for step in steps if step.kind == kind and limb in (None, step.limb) and season in (None, step.season)
    ]
    assert len(found) == 1, [(step.kind, step.limb, step.season) for step in found or steps]
    return found[0]


def kinds(steps: tuple[Step, ...], season: str | None = None) -> set[str]:
    return {step.kind for step in steps if season in (None, step.season)}


def limb_of(state: TreeState, key: str) -> Limb:
    """The limb of this key, which must be there."""
    limb = state.limb(key)
    assert limb is not None, key
    return limb


def length(state: TreeState, key: str) -> int:
    return limb_of(state, key).length_mm


def room_for(form: str, vigour: int) -> tuple[int, int]:
    """The room from tree to tree that a form asks for. [mm]"""
    room = spacing_for(form, vigour)
    assert room is not None
    return room.low_mm, room.high_mm
