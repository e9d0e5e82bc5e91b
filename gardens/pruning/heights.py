"""Work above a person's reach: which skill it asks of a crew, and how many people."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gardens.pruning.minutes import Size, sine
from gardens.pruning.values import Need
from gardens.training.state import Limb

LADDER_FROM_MM = 2400
"""Up to here a person on the second step of a tripod works with both feet below hip height of the work; above it the
work is ladder work and goes to people trained for it. Source: common practice."""
TWO_PEOPLE_FROM_MM = 3000
"""Above this one stands at the foot while the other works. Source: house default, stricter than the usual advice that
short, light work may be done alone (HSE, safe use of ladders and stepladders)."""
FROM_THE_GROUND = frozenset({"inspect", "water", "feed_mulch", "clean_out", "plant", "replace_tree"})
"""Kinds of work that never leave the ground."""


def with_hands(needs: Iterable[Need], size: Size) -> list[Need]:
    """Needs with the skill and the number of people that their height asks for; what a rule asks for stays."""
    return [_with_hands(need, size) for need in needs]


def _with_hands(need: Need, size: Size) -> Need:
    if need.kind in FROM_THE_GROUND:
        return need
    top = highest_mm(size, need)
    if top <= LADDER_FROM_MM:
        return need
    people = 2 if top > TWO_PEOPLE_FROM_MM else 1
    return replace(need, skill=need.skill or "ladder", people=max(need.people, people))


def highest_mm(size: Size, need: Need) -> float:
    """The highest point a need is worked at. [mm above the ground]"""
    if need.limb == "leader" and need.at_mm is not None:
        return float(need.at_mm)
    return max((limb_top_mm(limb) for limb in _limbs_of(size, need.limb)), default=0.0)


def limb_top_mm(limb: Limb) -> float:
    """The highest point of a limb, taken as straight from its origin. [mm above the ground]"""
    return limb.origin_y_mm + max(0.0, limb.length_mm * sine(limb.angle_deg))


def _limbs_of(size: Size, key: str) -> list[Limb]:
    kind, _, rest = key.partition(":")
    if key == "whole":
        return list(size.limbs)
    if kind == "tier" and rest.isdigit():
        return [limb for limb in size.state.limbs if limb.tier == int(rest)]
    return [limb for limb in size.state.limbs if limb.key == key]
