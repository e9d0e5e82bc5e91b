"""Weeks by crews: load against capacity, work without a day, windows about to close."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Sum

from scheduling.models import Crew, Round, Shift, Visit
from scheduling.queries.durations import learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.services.crews import public_holidays
from scheduling.services.packing import fewest_hands
from scheduling.services.placements import minute_of
from scheduling.services.round_problem import minutes_with

WEEKS = 26
NEARLY_FULL, FULL = 0.85, 1.0


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One crew's week. Minutes; ``capacity`` is paid time, breaks off."""

    crew: str
    monday: date
    capacity: int
    work: int
    drive: int
    visits: int
    days_off: int
    wet_days: int

    @property
    def load(self) -> int:
        """Minutes of work and driving."""
        return self.work + self.drive

    @property
    def share(self) -> float:
        """Load over capacity; more than 1 is more than fits."""
        return self.load / self.capacity if self.capacity else (float(self.load > 0) * 2)

    @property
    def words(self) -> str:
        """How full, so that it reads without colour."""
        if not self.capacity:
            return "visits on days off" if self.load else "off"
        if self.share > FULL:
            return "too full"
        return "nearly full" if self.share >= NEARLY_FULL else ""


@dataclass(frozen=True, kw_only=True)
class Week:
    """A week of the board. ``waiting_minutes`` is work without a day whose best part begins in it."""

    monday: date
    cells: Sequence[Cell]
    waiting: int
    waiting_minutes: int
    closing: Sequence[Visit]

    @property
    def sunday(self) -> date:
        """Its last day."""
        return self.monday + timedelta(days=6)


@dataclass(frozen=True, kw_only=True)
class SeasonBoard:
    """What the page shows."""

    crews: Sequence[Crew]
    weeks: Sequence[Week]


def season_board(first: date, today: date, weeks: int = WEEKS) -> SeasonBoard:
    """The board from the week of ``first`` on, in a fixed number of queries."""
    monday = first - timedelta(days=first.weekday())
    last = monday + timedelta(days=7 * weeks - 1)
    crews = list(crews_at_work())
    cells = _cells(crews, monday, last, today)
    waiting = list(
        Visit.objects.filter(state=Visit.State.PROPOSED, closes__gte=today, opens__lte=last)
        .select_related("site")
        .order_by("closes", "site__name")
    )
    starting: dict[date, list[Visit]] = defaultdict(list)
    closing: dict[date, list[Visit]] = defaultdict(list)
    for visit in waiting:
        # Work whose best part has begun already waits now.
        starting[_monday(max(visit.best_from, min(today, visit.closes), monday))].append(visit)
        closing[_monday(visit.closes)].append(visit)
    mondays = [monday + timedelta(days=7 * number) for number in range(weeks)]
    return SeasonBoard(
        crews=crews,
        weeks=[
            Week(
                monday=day,
                cells=[cells[crew.pk, day] for crew in crews],
                waiting=len(starting[day]),
                waiting_minutes=sum(visit.minutes for visit in starting[day]),
                closing=closing[day],
            )
            for day in mondays
        ],
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _cells(crews: Sequence[Crew], monday: date, last: date, today: date) -> dict[tuple[int, date], Cell]:
    shifts = {(row.crew_id, row.on): row for row in Shift.objects.filter(crew__in=crews, on__range=(monday, last))}
    holidays = public_holidays(monday, last)
    pace, hands = learned_pace(today), fewest_hands(crews)
    by_id = {crew.pk: crew for crew in crews}
    work: dict[tuple[int, date], int] = defaultdict(int)
    count: dict[tuple[int, date], int] = defaultdict(int)
    visits = Visit.objects.filter(state__in=Visit.ON_A_ROUND, on__range=(monday, last), round__crew__in=crews)
    for visit in visits.select_related("round"):
        if visit.round and visit.on:
            key = (visit.round.crew_id, _monday(visit.on))
            work[key] += minutes_with(visit, by_id[visit.round.crew_id], hands, pace)
            count[key] += 1
    drive = _drives(crews, monday, last)
    found = {}
    for crew in crews:
        for number in range(((last - monday).days + 1) // 7):
            start = monday + timedelta(days=7 * number)
            days = [start + timedelta(days=day) for day in range(7)]
            key = (crew.pk, start)
            rows = [row for day in days if (row := shifts.get((crew.pk, day)))]
            found[key] = Cell(
                crew=crew.name,
                monday=start,
                capacity=sum(_minutes(crew, day, shifts.get((crew.pk, day)), holidays) for day in days),
                work=work[key],
                drive=drive[key],
                visits=count[key],
                days_off=sum(row.is_off for row in rows),
                wet_days=sum(row.is_wet for row in rows),
            )
    return found


def _drives(crews: Sequence[Crew], monday: date, last: date) -> dict[tuple[int, date], int]:
    drive: dict[tuple[int, date], int] = defaultdict(int)
    rows = (
        Round.objects.filter(crew__in=crews, on__range=(monday, last))
        .values_list("crew_id", "on")
        .annotate(minutes=Sum("drive_minutes"))
    )
    for crew_id, on, minutes in rows:
        drive[crew_id, _monday(on)] += minutes
    return drive


def _minutes(crew: Crew, day: date, shift: Shift | None, holidays: Mapping[date, str]) -> int:
    """Paid minutes of a crew-day: of its shift, or of its usual week where no shift is laid yet."""
    if shift is not None:
        if shift.is_off:
            return 0
        return max(0, minute_of(shift.ends) - minute_of(shift.starts) - shift.break_minutes)
    if crew.working_week[day.weekday()] == "0" or day in holidays:
        return 0
    return max(0, minute_of(crew.ends) - minute_of(crew.starts) - crew.break_minutes)
