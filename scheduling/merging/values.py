"""The values that are merged, and what merging gives back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

REASONS_BY_WEIGHT = ("unsafe", "lost", "no_access", "weather", "not_ready", "no_time", "not_needed", "other")
"""Why a job was not done, the gravest first: what can hurt somebody leads, what solves itself comes last."""

FLAGS = {
    "also_done": "also ticked by somebody else",
    "two_answers": "one says done, another not done",
    "two_reasons": "two reasons why it was not done",
    "far_apart": "two measurements far apart",
}
"""What merging remarks, in words. ``two_answers`` and ``far_apart`` are for the office to settle."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What one person said about one job. ``at`` is the trusted moment, ``key`` its lasting identity."""

    key: str
    state: Literal["done", "not_done"]
    at: datetime
    by: int | None = None
    reason: str = ""
    note: str = ""
    value: float | None = None

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError("an answer's moment must know its time zone")
        if self.state == "not_done" and not self.reason:
            raise ValueError("a job that was not done has a reason")


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How a job stands after all that was said: the answer that leads, and what is remarkable about the others."""

    lead: Answer | None = None
    note: str = ""
    flags: frozenset[str] = frozenset()

    @property
    def state(self) -> str:
        return self.lead.state if self.lead else "open"


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """One measured value: mm, degrees above the horizontal or a count, by what was measured."""

    key: str
    value: float
    at: datetime
    by: int | None = None


@dataclass(frozen=True, kw_only=True)
class StandingMeasure:
    """The value to reckon with, and whether the measurements lie too far apart to average."""

    value: float
    keys: tuple[str, ...]
    is_far_apart: bool = False
