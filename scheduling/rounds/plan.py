"""What comes out: rounds with times, visits left out with the reason, and the owner's numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from business.errors import Fault

ReasonCode = Literal[
    "bad_input",
    "outside_horizon",
    "no_open_day",
    "wet",
    "no_shift",
    "skill",
    "crew_size",
    "other_crew",
    "too_long",
    "hours",
    "load",
    "most_visits",
    "day_full",
    "not_worth_it",
    "fits",
]


@dataclass(frozen=True, kw_only=True)
class Stop:
    """One visit within a round. Minutes after midnight; ``drive_minutes`` and ``drive_km`` lead to this stop."""

    visit: str
    site: str
    drive_minutes: int
    drive_km: float
    arrives: int
    starts: int
    ends: int
    is_best: bool
    is_locked: bool = False

    @property
    def waits(self) -> int:
        """Minutes between arriving and starting, a break taken there included."""
        return self.starts - self.arrives


@dataclass(frozen=True, kw_only=True)
class Round:
    """One crew's day: leaves, stops in order, returns. ``break_at`` is None where the day has no break."""

    crew: str
    day: date
    leaves: int
    returns: int
    stops: tuple[Stop, ...]
    break_at: int | None = None
    break_minutes: int = 0
    drive_minutes: int = 0
    drive_km: float = 0.0
    work_minutes: int = 0
    overtime_minutes: int = 0

    @property
    def visits(self) -> tuple[str, ...]:
        """The visits in order."""
        return tuple(stop.visit for stop in self.stops)


@dataclass(frozen=True, kw_only=True)
class NearMiss:
    """A crew-day that would almost do: how many minutes it is short."""

    crew: str
    day: date
    minutes_short: int


@dataclass(frozen=True, kw_only=True)
class Unplaced:
    """A visit no round takes: the binding reason, and what would free it."""

    visit: str
    code: ReasonCode
    why: str
    freed_by: tuple[str, ...] = ()
    nearest: tuple[NearMiss, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlanNumbers:
    """The owner's numbers. Shares are 0 … 1; ``utilisation`` is work and drive over paid crew minutes."""

    placed: int
    unplaced: int
    rounds: int
    work_minutes: int
    drive_minutes: int
    drive_km: float
    paid_minutes: int
    overtime_minutes: int
    utilisation: float
    drive_share: float
    best_share: float
    known_crew_share: float


@dataclass(frozen=True, kw_only=True)
class RoundPlan:
    """Rounds of a horizon. ``faults`` name what was wrong in the input and was left out; the rest is planned."""

    rounds: tuple[Round, ...]
    unplaced: tuple[Unplaced, ...]
    numbers: PlanNumbers
    faults: tuple[Fault, ...] = ()
    seconds: float = 0.0
    iterations: int = 0
    was_stopped: bool = False

    @cached_property
    def places(self) -> dict[str, tuple[str, date]]:
        """Crew and day of every placed visit."""
        return {stop.visit: (each.crew, each.day) for each in self.rounds for stop in each.stops}

    @cached_property
    def stops(self) -> dict[str, Stop]:
        """The stop of every placed visit."""
        return {stop.visit: stop for each in self.rounds for stop in each.stops}

    def round_of(self, crew: str, day: date) -> Round | None:
        """That crew's round of that day, if it has one."""
        return next((each for each in self.rounds if (each.crew, each.day) == (crew, day)), None)

    @cached_property
    def sequences(self) -> dict[tuple[str, date], tuple[str, ...]]:
        """Visits in order by crew and day."""
        return {(each.crew, each.day): each.visits for each in self.rounds}


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a running search is.

    ``best`` falls as the plan improves within one step, steps count differently; ``placed`` counts visits in the best
    plan. ``stage`` says in words what is being tried.
    """

    seconds: float
    of_seconds: float
    placed: int
    asked: int
    iterations: int
    best: int
    stage: str = ""
