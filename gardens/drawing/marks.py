"""Marks: what to do where, with the number that ties a mark to the job list beside the picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gardens.pruning.values import Need
from gardens.training.state import Step
from gardens.units import Units, show_length

from .symbols import symbol_of
from .words import limb_words


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One job on the picture.

    ``number`` is that of the job list (0: a mark without a number). ``kind`` is a kind of work, or "good_tie",
    "replace", "graft". ``at_mm`` is the height above ground on trunk and leader, else the distance along the limb;
    ``to_angle_deg`` the angle a limb is brought to. ``label`` is written beside the mark ("135 cm", "3 buds", "5→2").
    """

    number: int
    kind: str
    limb: str = "whole"
    at_mm: int | None = None
    to_angle_deg: float | None = None
    label: str = ""

    def words(self) -> str:
        """The mark in words, for those who do not see the picture."""
        symbol = symbol_of(self.kind)
        number = f"{self.number}: " if self.number else ""
        label = f", {self.label}" if self.label else ""
        return f"{number}{symbol.words}, {limb_words(self.limb)}{label}."


def marks_from_needs(needs: Iterable[Need], units: Units = "metric", *, first: int = 1) -> tuple[Mark, ...]:
    """A numbered mark for each need, in their order."""
    return tuple(
        Mark(
            number=number,
            kind=need.kind,
            limb=need.limb,
            at_mm=need.at_mm,
            to_angle_deg=need.to_angle_deg,
            label=_label(need.kind, need.at_mm, units),
        )
        for number, need in enumerate(needs, first)
    )


def marks_from_steps(steps: Iterable[Step], units: Units = "metric", *, first: int = 1) -> tuple[Mark, ...]:
    """A numbered mark for each next step of the form, in their order."""
    return tuple(
        Mark(
            number=number,
            kind=step.kind,
            limb=step.limb,
            at_mm=step.at_mm,
            to_angle_deg=step.to_angle_deg,
            label=_label(step.kind, step.at_mm, units),
        )
        for number, step in enumerate(steps, first)
    )


def _label(kind: str, at_mm: int | None, units: Units) -> str:
    return show_length(at_mm, units) if at_mm is not None and kind in ("head_back", "shorten_arms") else ""
