"""How a business trains: the choices the trade leaves open, each with the usual one as default."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from business.errors import BadInput, Fault
from gardens.knowledge.practice_schema import PracticeChoice, practice_choices


@dataclass(frozen=True, kw_only=True)
class TrainingPractice:
    """Settings of the business. Lengths in mm, angles in degrees above the horizontal, shares from 0 to 1.

    ``heading_margin_mm`` None takes the form's own margin (tiers: cut 5 cm above the wire); 0 cuts at the wire, a
    negative margin below it. ``first_cut_mm`` fixes the first cut at a height above the ground whatever the wire.
    ``low_shoots`` "keep_first_year" leaves them through the first season to feed the roots. ``arm_winter_cut``:
    "weak_third" takes a third of the new growth of arms that grew less than expected, "third" of all, "tip" only the
    tip, "by_angle" half of uprights, a third of slanted and the tip of flat limbs, "none" leaves them.
    ``asks_for_upkeep`` adds the care of side wood to the steps (blossom, summer cuts, spurs), of which the species rules
    know more. ``stem_at_top`` says what a slanted cordon does at the top wire. ``vine_first_year`` "root" lets a new vine grow
    freely and takes it back to two buds.
    """

    heading_margin_mm: int | None = None
    first_cut_mm: int | None = None
    short_leader_share: float = 1 / 3
    low_shoots: Literal["keep_first_year", "remove"] = "keep_first_year"
    arm_winter_cut: Literal["weak_third", "third", "tip", "by_angle", "none"] = "weak_third"
    keep_spare_shoot: bool = True
    wait_for_strong_first_arms: bool = False
    balance_trigger: float = 0.8
    balance_turn_deg: float = 15
    blossom_off_seasons: int = 3
    lateral_keep_leaves: int = 3
    sublateral_keep_leaves: int = 1
    leave_below_mm: int = 200
    regrowth: Literal["one_leaf", "to_base"] = "one_leaf"
    spur_thin_from_season: int = 7
    stem_at_top: Literal["cut_tip", "lower"] = "cut_tip"
    vine_first_year: Literal["root", "train"] = "root"
    vine_cane_min_mm: int = 8
    full_share: float = 0.95
    renovation_seasons: int = 3
    renovation_share: float = 1 / 3
    asks_for_upkeep: bool = True

    def __post_init__(self) -> None:
        for name in ("short_leader_share", "balance_trigger", "full_share", "renovation_share"):
            if not 0 < getattr(self, name) <= 1:
                raise ValueError(f"{name} is a share above 0 and at most 1, not {getattr(self, name)}")
        if self.renovation_seasons < 1:
            raise ValueError("a renovation takes at least one season")


USUAL = TrainingPractice()
FORM_ONLY = replace(USUAL, asks_for_upkeep=False)
"""The form's steps alone: the care of side wood comes from the species rules, which know more of it."""


def practice_of(choices: Mapping[str, Any], base: TrainingPractice = USUAL) -> TrainingPractice:
    """The practice with some choices made, each held against what the trade knows.

    Args:
        choices: choice → value, as in practice.toml: mm, degrees, shares, whole seasons, or the value of an option.
            None goes back to the usual one.
        base: what holds where nothing is chosen.

    Raises:
        BadInput: every choice that cannot be, with what would be right.
    """
    faults = [fault for name, value in choices.items() if (fault := _fault(name, value)) is not None]
    if faults:
        raise BadInput(faults)
    made = {name: _as_kept(name, value) for name, value in choices.items()}
    return replace(base, **made)


def read_practice(text: str, *, where: str, base: TrainingPractice = USUAL) -> TrainingPractice:
    """The practice written down as TOML: ``low_shoots = "remove"``, one choice to a line.

    Raises:
        BadInput: it is not TOML, or a choice cannot be.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput([Fault(where, f"cannot be read: {error}", 'write it as TOML: low_shoots = "remove"')]) from error
    try:
        return practice_of(table, base)
    except BadInput as refusal:
        raise BadInput(
            [Fault(f"{where}, {fault.where}", fault.wrong, fault.remedy) for fault in refusal.faults]
        ) from None


def choices_of(practice: TrainingPractice) -> dict[str, Any]:
    """The choices that differ from the usual ones."""
    return {
        name: getattr(practice, name) for name in practice_choices() if getattr(practice, name) != getattr(USUAL, name)
    }


def _as_kept(name: str, value: Any) -> Any:
    if value is None:
        return getattr(USUAL, name)
    choice = practice_choices()[name]
    if choice.manner in ("length", "millimetres", "seasons"):
        return round(value)
    return float(value) if choice.manner in ("share", "angle") else value


def _fault(name: str, value: Any) -> Fault | None:
    known = practice_choices()
    if name not in known:
        close = difflib.get_close_matches(name, known, n=1)
        return Fault(name, "is no choice of training", f"use {close[0] if close else ', '.join(known)}")
    choice = known[name]
    if value is None:
        return None
    if choice.manner == "option":
        values = [option.value for option in choice.options]
        if any(value is one or (isinstance(value, str) and value == one) for one in values):
            return None
        return Fault(name, f"{value!r} is not known here", f"use one of {', '.join(map(_as_written, values))}")
    return _number_fault(choice, value)


def _as_written(value: str | bool) -> str:
    """As a TOML file has it."""
    return str(value).lower() if isinstance(value, bool) else f'"{value}"'


def _number_fault(choice: PracticeChoice, value: Any) -> Fault | None:
    low, high = choice.low or 0.0, choice.high or 0.0
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number:
        return Fault(choice.id, f"{value!r} is not a number", f"give {low:g} to {high:g}")
    if not low <= value <= high:
        return Fault(choice.id, f"{value:g} is out of range", f"give {low:g} to {high:g}")
    if choice.manner in ("length", "millimetres", "seasons") and value != round(value):
        return Fault(choice.id, f"{value:g} is no whole number", f"give {low:g} to {high:g}")
    return None
