"""What goes into the packing of one site, and what comes out. Days are local dates, work in whole minutes."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

UnservedCode = Literal[
    "window_passed", "no_open_day", "too_long", "no_crew", "agreement_limit", "gap", "visits_full", "not_worth_a_visit"
]
EVERY_WEEKDAY: frozenset[int] = frozenset(range(7))


@dataclass(frozen=True, kw_only=True)
class PackNeed:
    """A piece of work one site is due.

    All four days are inclusive, opens ≤ best_from ≤ best_until ≤ closes. ``minutes`` is what a crew spends on it on
    site. ``importance`` weighs a need against another when not all can be served (1 or more). An optional need rides
    along on a visit that is made anyway; it never causes one. ``may_split`` lets a need longer than a visit be done
    on several days.
    """

    id: str
    opens: date
    best_from: date
    best_until: date
    closes: date
    minutes: int
    label: str = ""
    skills: frozenset[str] = frozenset()
    crew_size: int = 1
    weather_rule: str = ""
    importance: int = 1
    is_optional: bool = False
    may_split: bool = False

    def __post_init__(self) -> None:
        if not self.opens <= self.best_from <= self.best_until <= self.closes:
            raise ValueError(f"need {self.id}: its days must run opens ≤ best_from ≤ best_until ≤ closes")
        if self.minutes < 1 or self.importance < 1 or self.crew_size < 1:
            raise ValueError(f"need {self.id}: minutes, importance and crew size must be 1 or more")

    @property
    def name(self) -> str:
        """How a sentence speaks of this need."""
        return self.label or self.id


@dataclass(frozen=True, kw_only=True)
class LockedVisit:
    """A visit that is already promised. It stays on its day; ``spare_minutes`` is the room left for further needs.

    ``need_ids`` are needs it already carries; they are not packed again.
    """

    id: str
    on: date
    spare_minutes: int = 0
    need_ids: frozenset[str] = frozenset()
    skills: frozenset[str] = frozenset()
    crew_size: int = 1


@dataclass(frozen=True, kw_only=True)
class CrewKind:
    """What one crew of the business can do: a visit's skills and hands must be found in one crew."""

    skills: frozenset[str] = frozenset()
    size: int = 1


@dataclass(frozen=True, kw_only=True)
class DayLimit:
    """Days, both inclusive, on which a visit holds fewer minutes (short daylight, half-days)."""

    first: date
    last: date
    minutes: int


@dataclass(frozen=True, kw_only=True)
class PackRules:
    """What binds the visits of one site.

    ``visit_minutes`` is the most a crew-day can spend at the site, ``setup_minutes`` of it go to arriving, clearing
    up and signing off. Two visits lie ``min_gap_days`` apart or more; with ``may_run_on`` the next open day is allowed
    as well, so that long work can run on. ``max_visits`` is what the agreement pays for in the packed span, locked
    visits included. ``optional_worth_days`` says how many days off the best part the others may be drawn to take an
    optional need along. ``crews`` empty: every mix of skills can be sent. ``effort`` bounds the search where exact
    packing takes too long; `Packing.is_proved` then says so.
    """

    visit_minutes: int = 390
    setup_minutes: int = 0
    min_gap_days: int = 0
    may_run_on: bool = False
    weekdays: frozenset[int] = EVERY_WEEKDAY
    blocked: frozenset[date] = frozenset()
    day_limits: tuple[DayLimit, ...] = ()
    not_before: date | None = None
    not_after: date | None = None
    max_visits: int | None = None
    locked: tuple[LockedVisit, ...] = ()
    crews: tuple[CrewKind, ...] = ()
    optional_worth_days: int = 14
    effort: int = 20_000

    def __post_init__(self) -> None:
        if self.visit_minutes <= self.setup_minutes:
            raise ValueError("a visit must hold more minutes than its set-up takes")
        if self.setup_minutes < 0 or self.min_gap_days < 0 or self.optional_worth_days < 0 or self.effort < 1:
            raise ValueError("set-up, gap and worth must not be negative, effort at least 1")
        if not self.weekdays <= EVERY_WEEKDAY:
            raise ValueError("weekdays are 0 for Monday to 6 for Sunday")

    def room_on(self, day: date) -> int:
        """Minutes for needs on that day, set-up taken off; 0 if set-up leaves nothing."""
        limits = [limit.minutes for limit in self.day_limits if limit.first <= day <= limit.last]
        return max(0, min([self.visit_minutes, *limits]) - self.setup_minutes)


@dataclass(frozen=True, kw_only=True)
class PackedVisit:
    """One visit to make.

    On any day opens … closes it serves all its needs and keeps its distance from the other visits of the site;
    best_from … best_until are the days with the least total distance from the best parts. ``on`` is the day the
    packing reckoned with. ``locked_id`` names the locked visit these needs ride along on, "" for a new visit.
    ``parts`` gives the minutes of needs of which only a part is done here.
    """

    key: str
    on: date
    opens: date
    best_from: date
    best_until: date
    closes: date
    need_ids: tuple[str, ...]
    minutes: int
    skills: frozenset[str] = frozenset()
    crew_size: int = 1
    weather_rules: frozenset[str] = frozenset()
    locked_id: str = ""
    parts: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Unserved:
    """A need no visit serves: why, and what would free it."""

    need_id: str
    code: UnservedCode
    why: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class NeedAccount:
    """Why a need is in its visit. ``days_off_best`` counts from the nearest day of its best part."""

    need_id: str
    visit_key: str
    days_off_best: int
    why: str


@dataclass(frozen=True, kw_only=True)
class VisitProof:
    """A span that by itself calls for ``visits`` visits: these needs must all be done inside it."""

    first: date
    last: date
    visits: int
    minutes: int
    need_ids: tuple[str, ...]
    why: str


@dataclass(frozen=True, kw_only=True)
class WindowPrice:
    """What keeping one window costs: visits and days off the best parts that would be saved without its needs."""

    need_ids: tuple[str, ...]
    opens: date
    closes: date
    visits: int
    days_off_best: int
    why: str


@dataclass(frozen=True, kw_only=True)
class Packing:
    """The visits of one site.

    ``days_off_best`` is the sum over served needs. ``proof`` holds spans that cannot share a visit, so that fewer
    visits are impossible where their visits add up to the number made. ``is_proved`` is False only where the search
    was cut short; the packing is then valid but another may be better, never with fewer than ``fewest_visits``.
    """

    visits: tuple[PackedVisit, ...]
    unserved: tuple[Unserved, ...] = ()
    account: tuple[NeedAccount, ...] = ()
    proof: tuple[VisitProof, ...] = ()
    days_off_best: int = 0
    is_proved: bool = True
    fewest_visits: int = 0
    notes: tuple[str, ...] = field(default=())

    @property
    def new_visits(self) -> tuple[PackedVisit, ...]:
        """The visits that are not locked ones."""
        return tuple(visit for visit in self.visits if not visit.locked_id)

    @property
    def has_fewest_visits(self) -> bool:
        """Whether fewer new visits are known to be impossible, even where the days are not proved the best."""
        return self.is_proved or (not self.unserved and len(self.new_visits) <= self.fewest_visits)
