"""What goes into the rounds: crews, their days, the visits asked for, how far apart places are.

Days are local dates, times are whole minutes after local midnight. One axis runs through the horizon:
t = day · minutes_per_day + minute. A clock change falls into the night, outside any shift, so that no shift notices.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from scheduling.rounds.travel import TravelMatrix

Span = tuple[int, int]
"""Minutes after midnight, from and until."""
EVERY_WEEKDAY: frozenset[int] = frozenset(range(7))


@dataclass(frozen=True, kw_only=True)
class Horizon:
    """The days planned for, ``first`` and ``days`` of them. ``minutes_per_day`` is 1440 except in abstract problems."""

    first: date
    days: int
    minutes_per_day: int = 1440

    def __post_init__(self) -> None:
        if self.days < 1 or self.minutes_per_day < 1:
            raise ValueError("a horizon has at least one day of at least one minute")

    @property
    def last(self) -> date:
        """The last day planned for."""
        return self.first + timedelta(days=self.days - 1)

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.first <= day <= self.last

    def number(self, day: date) -> int:
        """The day's place on the axis, 0 for the first."""
        return (day - self.first).days

    def day(self, number: int) -> date:
        """The day at that place on the axis."""
        return self.first + timedelta(days=number)


@dataclass(frozen=True, kw_only=True)
class Crew:
    """People who go out together. ``start`` and ``end`` are places; ``capacity`` what their vehicle takes, by load."""

    id: str
    start: str
    end: str = ""
    label: str = ""
    skills: frozenset[str] = frozenset()
    size: int = 2
    capacity: Mapping[str, int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """How a sentence speaks of this crew."""
        return self.label or self.id

    @property
    def returns_to(self) -> str:
        """The place the day ends at."""
        return self.end or self.start


@dataclass(frozen=True, kw_only=True)
class CrewDay:
    """One crew's shift on one day.

    The break lies somewhere between ``break_from`` and ``break_until`` (its start), and falls away on days that end
    before. ``overtime_minutes`` may be worked after ``ends``, at a price. ``start`` overrides where the day begins
    (a crew already out). ``most_visits`` limits the number of visits.
    """

    crew: str
    day: date
    starts: int = 480
    ends: int = 990
    break_minutes: int = 30
    break_from: int = 690
    break_until: int = 840
    overtime_minutes: int = 0
    most_visits: int | None = None
    start: str = ""

    @property
    def key(self) -> tuple[str, date]:
        """What names this crew-day."""
        return self.crew, self.day


@dataclass(frozen=True, kw_only=True)
class Lock:
    """A promise: this crew, this day, and this start if one was given."""

    crew: str
    day: date
    start: int | None = None


@dataclass(frozen=True, kw_only=True)
class VisitRequest:
    """A visit to be laid into a round.

    ``site`` is a place of the travel matrix. Days opens … closes are inclusive; the best part may be left out.
    ``hours`` are the client's hours on a day, empty for any; the whole visit must lie inside one of them.
    ``minutes_for`` gives other minutes for single crews. ``known_crew`` is the crew the client knows: a wish.
    ``only_crews`` (empty: any) and ``not_crews`` are rules. ``is_outdoor`` work stays off days marked wet.
    ``prize`` overrides what leaving the visit out costs [minutes of driving].
    """

    id: str
    site: str
    opens: date
    closes: date
    minutes: int
    best_from: date | None = None
    best_until: date | None = None
    label: str = ""
    weekdays: frozenset[int] = EVERY_WEEKDAY
    blocked: frozenset[date] = frozenset()
    hours: tuple[Span, ...] = ()
    skills: frozenset[str] = frozenset()
    crew_size: int = 1
    loads: Mapping[str, int] = field(default_factory=dict)
    minutes_for: Mapping[str, int] = field(default_factory=dict)
    known_crew: str = ""
    only_crews: frozenset[str] = frozenset()
    not_crews: frozenset[str] = frozenset()
    lock: Lock | None = None
    is_urgent: bool = False
    is_optional: bool = False
    is_outdoor: bool = False
    prize: int | None = None

    @property
    def name(self) -> str:
        """How a sentence speaks of this visit."""
        return self.label or self.id

    def takes(self, crew: str) -> int:
        """Minutes on site with that crew."""
        return self.minutes_for.get(crew, self.minutes)

    def is_best_on(self, day: date) -> bool:
        """Whether the day lies in the best part; any day does where none was given."""
        return (self.best_from or day) <= day <= (self.best_until or day)


@dataclass(frozen=True, kw_only=True)
class Weights:
    """What counts how much, in minutes of driving.

    Each tier lies above the sum the next can win back by moving one visit: placed, best part, drive, known crew, even
    load. ``even_load`` is the price, in quarter minutes, of each minute a crew-day is filled beyond ``full_share``.
    """

    urgent: int = 20_000
    ordinary: int = 5_000
    optional: int = 90
    best_part: int = 60
    unknown_crew: int = 20
    overtime: int = 3
    even_load: int = 1
    full_share: float = 0.85


@dataclass(frozen=True, kw_only=True)
class RoundsProblem:
    """Everything the rounds of a horizon hang on.

    ``wet_days`` are days on which outdoor work is off, ``holidays`` days on which no crew works. ``daylight`` gives
    per day the minutes between which outdoor work has light; a shift is cut to it, with the shortest drive before
    and after left in the dark.
    """

    horizon: Horizon
    crews: tuple[Crew, ...]
    crew_days: tuple[CrewDay, ...]
    visits: tuple[VisitRequest, ...]
    travel: TravelMatrix
    wet_days: frozenset[date] = frozenset()
    holidays: frozenset[date] = frozenset()
    daylight: Mapping[date, Span] = field(default_factory=dict)
    weights: Weights = field(default_factory=Weights)
