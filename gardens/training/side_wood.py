"""Cuts on side shoots, by their length and where they spring from."""

from __future__ import annotations

from typing import Literal

from gardens.knowledge.form_schema import FormRecord
from gardens.training.practice import USUAL, TrainingPractice

Springs = Literal["limb", "spur"]


def summer_cut(length_mm: float, springs_from: Springs, practice: TrainingPractice = USUAL) -> int | None:
    """To how many leaves above its basal cluster a side shoot is cut in summer, None if it stays whole.

    Source: Royal Horticultural Society, Apples and pears: summer pruning.
    """
    if length_mm <= practice.leave_below_mm:
        return None
    return practice.lateral_keep_leaves if springs_from == "limb" else practice.sublateral_keep_leaves


def regrowth_cut(practice: TrainingPractice = USUAL) -> int:
    """How many leaves of an autumn regrowth stay past the last cut: one, or none where it is taken to its base.

    Sources: Royal Horticultural Society, Apples and pears: summer pruning (one leaf); Toronto Master Gardeners (base).
    """
    return 1 if practice.regrowth == "one_leaf" else 0


def planting_cut(length_mm: float, form: FormRecord) -> int | None:
    """To how many buds a cordon's side shoot is cut at planting, None if it stays whole.

    Source: Royal Horticultural Society, Apples and pears: growing and training as cordons.
    """
    return int(form.number("lateral_buds")) if length_mm > form.number("lateral_keep_below_mm") else None
