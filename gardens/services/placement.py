"""Where trees may stand along a support: inside it, not on top of each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from business.errors import Fault

CROSSING_FORMS = frozenset({"lattice"})
"""Forms whose arms are meant to cross the neighbours'."""


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A tree's place along its support. Lengths in mm from the support's left end; ``where`` names it for people."""

    where: str
    label: str
    position_mm: int
    run_left_mm: int
    run_right_mm: int
    form: str

    @property
    def left_mm(self) -> int:
        return self.position_mm - self.run_left_mm

    @property
    def right_mm(self) -> int:
        return self.position_mm + self.run_right_mm


def placement_faults(standings: Sequence[Standing], *, support_length_mm: int) -> list[Fault]:
    """What is wrong with the places of these trees on one support."""
    faults = []
    length = f"{support_length_mm / 10:g} cm"
    for tree in standings:
        if tree.position_mm > support_length_mm:
            faults.append(
                Fault(
                    f"{tree.where}, position",
                    f"{tree.label} at {tree.position_mm / 10:g} cm stands beyond its support of {length}",
                    f"write a position from 0 to {length}",
                )
            )
        elif tree.left_mm < 0 or tree.right_mm > support_length_mm:
            side = "run_left" if tree.left_mm < 0 else "run_right"
            over = -tree.left_mm if tree.left_mm < 0 else tree.right_mm - support_length_mm
            faults.append(
                Fault(
                    f"{tree.where}, {side}",
                    f"{tree.label} reaches {over / 10:g} cm past the end of its support",
                    f"shorten the run by {over / 10:g} cm or move the tree",
                )
            )
    in_order = sorted(standings, key=lambda tree: tree.position_mm)
    for before, after in pairwise(in_order):
        overlap = before.right_mm - after.left_mm
        crosses = before.form in CROSSING_FORMS and after.form in CROSSING_FORMS
        if after.position_mm == before.position_mm or (overlap > 0 and not crosses):
            faults.append(
                Fault(
                    f"{after.where}, position",
                    f"{after.label} overlaps {before.label} by {max(overlap, 0) / 10:g} cm",
                    "move one of them or shorten a run",
                )
            )
    return faults


def shared_runs(
    positions_mm: Sequence[int], *, support_length_mm: int, most_mm: int | None = None
) -> list[tuple[int, int]]:
    """The room left and right of each trunk when neighbours share the gap between them evenly.

    ``positions_mm`` rise; the first tree may reach the left end and the last the right end. ``most_mm`` caps a run.
    """
    runs = []
    for index, position in enumerate(positions_mm):
        left = position if index == 0 else (position - positions_mm[index - 1]) // 2
        is_last = index == len(positions_mm) - 1
        right = support_length_mm - position if is_last else (positions_mm[index + 1] - position) // 2
        if most_mm is not None:
            left, right = min(left, most_mm), min(right, most_mm)
        runs.append((max(0, left), max(0, right)))
    return runs
