"""How many buds a vine keeps in winter: by the weight of its prunings, by dead buds, spread over its spurs or canes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gardens.knowledge.fact_schema import BudRule

KG_PER_POUND = 0.45359237
"""Exact, international avoirdupois pound of 1959."""


@dataclass(frozen=True, kw_only=True)
class BudLoad:
    """The buds to keep on the whole vine; None where the vine should be pruned as little as possible."""

    buds: int | None
    why: str
    source: str


def balanced_buds(prunings_kg: float, rule: BudRule, dead_buds_percent: float = 0.0) -> BudLoad:
    """Buds to keep by balanced pruning.

    So many buds for the first pound of one-year-old prunings and so many for each further pound, up to the most the
    rule allows; under one pound in proportion (house default). Dead buds are made good: +35 % when 15 to 35 % are dead,
    +50 % when 35 to 50 %; above half, prune as little as possible.

    Args:
        prunings_kg: weight of the one-year-old wood cut, above 0. [kg]
        rule: of the cultivar's group.
        dead_buds_percent: 0 … 100. [%]

    Raises:
        ValueError: for a weight or share out of range.

    Source: University of Illinois Extension, pruning and training grape vines (30 + 10 for American cultivars: one
    pound 30 buds, three pounds 50); Purdue, double pruning grapevines (dead buds; its ranges overlap at 25 to 35 %).
    """
    if not prunings_kg > 0:
        raise ValueError(f"prunings weigh more than nothing, not {prunings_kg} kg")
    if not 0 <= dead_buds_percent <= 100:
        raise ValueError(f"a share of dead buds lies in 0 … 100 %, not {dead_buds_percent}")
    pounds = prunings_kg / KG_PER_POUND
    source = "; ".join(rule.source)
    extra = extra_for_dead_buds(dead_buds_percent)
    if extra is None:
        return BudLoad(
            buds=None, why=f"{dead_buds_percent:g} % of the buds are dead: cut as little as possible", source=source
        )
    wanted = rule.first_pound * pounds if pounds < 1 else rule.first_pound + rule.each_further_pound * (pounds - 1)
    buds = round(min(wanted, rule.most) * (1 + extra))
    why = f"{rule.name} on {prunings_kg:g} kg of prunings"
    if extra:
        why += f", {extra:.0%} more for {dead_buds_percent:g} % dead buds"
    return BudLoad(buds=buds, why=why, source=source)


def extra_for_dead_buds(dead_buds_percent: float) -> float | None:
    """The share of buds to keep on top: 0, 0.35 or 0.5; None above half dead. Source: Purdue, double pruning."""
    if dead_buds_percent <= 15:
        return 0.0
    if dead_buds_percent <= 35:
        return 0.35
    return 0.5 if dead_buds_percent <= 50 else None


@dataclass(frozen=True, kw_only=True)
class SpurPlan:
    """Spurs of a rod: how many, how many buds each, and how far apart. [cm]"""

    spurs: int
    buds_each: int
    spacing_cm: float


def spread_over_spurs(buds: int, rods_cm: float, spacing_cm: tuple[float, float]) -> SpurPlan:
    """Buds laid on spurs along the rods of a vine: two to a spur where there is room, never fewer than 1 or more than 3.

    Args:
        buds: to keep, 1 or more.
        rods_cm: length of all rods that carry spurs, above 0. [cm]
        spacing_cm: least and largest distance between spurs. [cm]
    """
    if buds < 1 or rods_cm <= 0:
        raise ValueError(f"buds and rods must be there, not {buds} and {rods_cm} cm")
    most = max(1, math.floor(rods_cm / spacing_cm[0]))
    least = max(1, math.floor(rods_cm / spacing_cm[1]))
    spurs = min(most, max(least, math.ceil(buds / 2)))
    buds_each = min(3, max(1, round(buds / spurs)))
    return SpurPlan(spurs=spurs, buds_each=buds_each, spacing_cm=round(rods_cm / spurs, 1))
