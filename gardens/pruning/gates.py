"""The weather and the state of the day: what may stop a cut whose season is open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gardens.knowledge.load import Knowledge


@dataclass(frozen=True, kw_only=True)
class Situation:
    """What is known of the day at the site; None where it is not known and nothing is stopped for it.

    Args:
        dry_behind_h: hours since rain; 0 while it rains. [h]
        rain_in_h: hours until rain is forecast. [h]
        dry_days_ahead: days without rain expected, from the forecast and, beyond a week, the site's normals. [d]
        tmin_ahead_c: lowest temperature forecast, and in how many days it comes. [°C], [d]
        tmax_ahead_c: highest of the coming three days. [°C]
        is_frozen: wood is frozen now.
        has_nest: a nest in use or being built was found in the tree.
        diseases: recorded at the tree: "fire_blight", "canker", "bacterial_canker", "silver_leaf".
    """

    dry_behind_h: float | None = None
    rain_in_h: float | None = None
    dry_days_ahead: int | None = None
    tmin_ahead_c: float | None = None
    tmin_in_days: int = 1
    tmax_ahead_c: float | None = None
    is_frozen: bool = False
    has_nest: bool = False
    diseases: frozenset[str] = frozenset()


QUIET = Situation()
"""Nothing known of the day."""


@dataclass(frozen=True)
class Shut:
    """A gate that is shut: the code, the sentence, the source."""

    code: str
    why: str
    source: str


def shut_gate(gates: Iterable[str], day: Situation, knowledge: Knowledge) -> Shut | None:
    """The first of the named gates that the day shuts, or None."""
    for name in gates:
        gate = knowledge.gates[name]
        reason = (
            _rain(gate.dry_h, day)
            or _wet_weeks(gate.dry_days, day)
            or _cold(gate.stop_below_c, gate.within_days, day)
            or _heat(gate.stop_from_c, day)
            or ("the wood is frozen" if gate.not_frozen and day.is_frozen else "")
        )
        if reason:
            return Shut(gate.code, f"Wait: {reason}. {gate.text}", knowledge.cite(gate.source))
    return None


def _rain(dry_h: int | None, day: Situation) -> str:
    if dry_h is None:
        return ""
    if day.dry_behind_h is not None and day.dry_behind_h <= 0:
        return "it rains"
    if day.rain_in_h is not None and day.rain_in_h < dry_h:
        return f"rain is due in {day.rain_in_h:g} hours"
    return ""


def _wet_weeks(dry_days: int | None, day: Situation) -> str:
    if dry_days is None or day.dry_days_ahead is None or day.dry_days_ahead >= dry_days:
        return ""
    return f"only {day.dry_days_ahead} dry days are expected, {dry_days} are needed"


def _cold(below_c: float | None, within_days: int, day: Situation) -> str:
    if below_c is None or day.tmin_ahead_c is None or day.tmin_in_days > within_days or day.tmin_ahead_c > below_c:
        return ""
    return f"{day.tmin_ahead_c:g} °C is forecast within {day.tmin_in_days} days"


def _heat(from_c: float | None, day: Situation) -> str:
    if from_c is None or day.tmax_ahead_c is None or day.tmax_ahead_c < from_c:
        return ""
    return f"{day.tmax_ahead_c:g} °C is forecast"
