"""From a demand and a limit to a verdict, the same way for every part."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gardens.supports.values import PartCheck, PartVerdict, worst

FINE_UP_TO, HOLDS_UP_TO = 0.8, 1.0
"""Shares of the limit: fine up to 0.8, near its limit up to 1.0."""

HOPELESS = 999.0
"""Written where a demand meets a limit of nothing."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question to one part: ``demand`` against ``limit``; ``is_floor`` when the limit is a least value.

    ``assumed``: what the limit rests on that nobody measured here; then the best answer is "not proved".
    ``is_advice``: a rule of the trade and no question of strength; then the worst answer is "near its limit".
    ``at_best``: the best verdict the answer can have whatever the numbers.
    """

    rule: str
    part: str
    question: str
    demand: float
    limit: float
    unit: str
    formula: str
    source: str
    is_floor: bool = False
    is_advice: bool = False
    at_best: PartVerdict = "fine"
    cure: str = ""
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


def judge(asked: Asked) -> PartCheck:
    """The verdict: up to 0.8 of the limit fine, up to 1.0 near it, above not enough."""
    ratio = used_share(asked.demand, asked.limit, is_floor=asked.is_floor)
    verdict: PartVerdict = "fine"
    if ratio > HOLDS_UP_TO + 1e-9:
        verdict = "near_its_limit" if asked.is_advice else "not_enough"
    elif asked.assumed:
        verdict = "not_proved"
    elif ratio > FINE_UP_TO and not asked.is_advice:
        verdict = "near_its_limit"
    verdict = worst((verdict, asked.at_best))
    return PartCheck(
        rule=asked.rule,
        part=asked.part,
        question=asked.question,
        demand=asked.demand,
        limit=asked.limit,
        unit=asked.unit,
        ratio=ratio,
        verdict=verdict,
        formula=asked.formula,
        source=asked.source,
        is_floor=asked.is_floor,
        cure="" if verdict == "fine" else asked.cure,
        notes=asked.notes,
        assumed=asked.assumed,
    )


def used_share(demand: float, limit: float, *, is_floor: bool) -> float:
    """The share of a limit that is used. Above 1 the limit is passed."""
    top, bottom = (limit, demand) if is_floor else (demand, limit)
    if top <= 0:
        return 0.0
    return min(HOPELESS, top / bottom) if bottom > 0 else HOPELESS


def hardest(checks: Iterable[PartCheck]) -> list[PartCheck]:
    """Of each rule only the part that is worst off, in the order the rules first came."""
    kept: dict[str, PartCheck] = {}
    for check in checks:
        before = kept.get(check.rule)
        if before is None or _badness(check) > _badness(before):
            kept[check.rule] = check
    return list(kept.values())


def _badness(check: PartCheck) -> tuple[int, float]:
    order: list[PartVerdict] = ["fine", "near_its_limit", "not_proved", "not_enough"]
    return order.index(check.verdict), check.ratio
