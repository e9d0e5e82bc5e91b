"""The value types of the pruning core: windows, needs, verdicts on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from gardens.climate.values import Basis


@dataclass(frozen=True, kw_only=True)
class Closure:
    """A span in which a cut is not allowed, with the reason code and the sentence that explains it."""

    opens: date
    closes: date
    code: str
    why: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Window:
    """When work may be done. All four days are inclusive: opens ≤ best_from ≤ best_until ≤ closes."""

    opens: date
    best_from: date
    best_until: date
    closes: date
    basis: Basis

    def __post_init__(self) -> None:
        if not self.opens <= self.best_from <= self.best_until <= self.closes:
            raise ValueError(
                f"a window must run opens ≤ best_from ≤ best_until ≤ closes, not "
                f"{self.opens}, {self.best_from}, {self.best_until}, {self.closes}"
            )

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.opens <= day <= self.closes


@dataclass(frozen=True, kw_only=True)
class Need:
    """A piece of work a tree is due: what, on which limb, when, how, and why.

    ``minutes`` is the time of one trained person; ``materials`` are (material id, quantity) pairs from
    `gardens/knowledge/materials`; ``skill`` names a skill a crew must have ("" for none), ``people`` how many must be
    there at once; ``weather_rule`` a gate of
    the day ("D24": dry for 24 h …, "" for none). ``at_mm`` and ``to_angle_deg`` are those of `training.Step`.
    ``rule`` is the id of the knowledge rule behind it, for the page that shows its source.
    """

    kind: str
    limb: str
    instruction: str
    window: Window
    minutes: float
    why: str
    source: str
    rule: str = ""
    materials: tuple[tuple[str, float], ...] = ()
    skill: str = ""
    people: int = 1
    weather_rule: str = ""
    at_mm: int | None = None
    to_angle_deg: float | None = None
    is_optional: bool = False


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """Whether a kind of work may be done on one day, and why (not)."""

    kind: str
    is_allowed: bool
    why: str
    source: str
    code: str = ""


@dataclass(frozen=True, kw_only=True)
class Warning:
    """Something a person must know before acting: suitability, sap, thorns, weather, nests."""

    text: str
    source: str
