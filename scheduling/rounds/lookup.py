"""The problem indexed: crews, days and visits by id, and whether a visit may be done by a crew on a day at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np

from scheduling.rounds.plan import ReasonCode
from scheduling.rounds.values import Crew, CrewDay, RoundsProblem, Span, VisitRequest

CrewDayKey = tuple[str, date]


@dataclass(frozen=True)
class Bar:
    """A rule that keeps a visit off a crew-day."""

    code: ReasonCode
    why: str


class Lookup:
    """A sound problem, ready to be asked. Build it from a problem that went through `checks.sift`."""

    def __init__(self, problem: RoundsProblem) -> None:
        self.problem = problem
        self.crews: Mapping[str, Crew] = {crew.id: crew for crew in problem.crews}
        self.visits: Mapping[str, VisitRequest] = {visit.id: visit for visit in problem.visits}
        self._days: dict[str, tuple[date, ...]] = {}
        self.crew_days: Mapping[CrewDayKey, CrewDay] = {
            day.key: self._in_light(day)
            for day in sorted(problem.crew_days, key=lambda day: (day.day, day.crew))
            if day.day in problem.horizon and day.day not in problem.holidays
        }

    @cached_property
    def working_days(self) -> tuple[date, ...]:
        """Days on which at least one crew works."""
        return tuple(sorted({day for _, day in self.crew_days}))

    @cached_property
    def longest_shift(self) -> int:
        """Minutes of the longest shift, break taken off."""
        return max((worked_minutes(day) + day.overtime_minutes for day in self.crew_days.values()), default=0)

    @cached_property
    def legs(self) -> Mapping[str, Mapping[str, int]]:
        """Driving minutes by start and end, of the places this problem speaks of. Plain numbers: asked for very often."""
        travel = self.problem.travel
        ends = {place for crew in self.crews.values() for place in (crew.start, crew.returns_to)}
        ends |= {day.start for day in self.problem.crew_days if day.start}
        places = list(dict.fromkeys([*sorted(ends), *(visit.site for visit in self.problem.visits)]))
        index = [travel.index[place] for place in places]
        rows = travel.minutes[np.ix_(index, index)].tolist() if places else []
        return {place: dict(zip(places, row, strict=True)) for place, row in zip(places, rows, strict=True)}

    def leg(self, start: str, end: str) -> int:
        """Driving minutes."""
        return self.legs[start][end]

    def km(self, start: str, end: str) -> float:
        """Driving kilometres."""
        travel = self.problem.travel
        return float(travel.km[travel.index[start], travel.index[end]])

    def start_of(self, day: CrewDay) -> str:
        """Where the crew's day begins."""
        return day.start or self.crews[day.crew].start

    def days_for(self, visit: VisitRequest) -> tuple[date, ...]:
        """Working days on which the visit's own rules let it happen."""
        if self.visits.get(visit.id) is not visit:  # a visit with a rule changed, to see what that would free
            return self._open_days(visit)
        if visit.id not in self._days:
            self._days[visit.id] = self._open_days(visit)
        return self._days[visit.id]

    def _open_days(self, visit: VisitRequest) -> tuple[date, ...]:
        return tuple(day for day in self.working_days if self.day_bar(visit, day) is None)

    def day_bar(self, visit: VisitRequest, day: date) -> Bar | None:
        """The rule of the visit that closes this day, whoever goes."""
        if visit.lock:
            return None if day == visit.lock.day else Bar("no_open_day", f"it is locked on {say_day(visit.lock.day)}")
        if not visit.opens <= day <= visit.closes:
            return Bar("no_open_day", f"its days are {say_day(visit.opens)} to {say_day(visit.closes)}")
        if day.weekday() not in visit.weekdays or day in visit.blocked:
            return Bar("no_open_day", "the client gives no access that day")
        if visit.is_outdoor and day in self.problem.wet_days:
            return Bar("wet", "the day is marked wet")
        return None

    def crew_bar(self, visit: VisitRequest, crew: Crew) -> Bar | None:
        """The rule that keeps this crew from the visit, on any day."""
        if visit.lock:
            return None if crew.id == visit.lock.crew else Bar("other_crew", "it is locked to another crew")
        if missing := visit.skills - crew.skills:
            return Bar("skill", f"{crew.name} lacks {', '.join(sorted(missing))}")
        if visit.crew_size > crew.size:
            return Bar("crew_size", f"{crew.name} is {crew.size}, the work takes {visit.crew_size}")
        if crew.id in visit.not_crews or (visit.only_crews and crew.id not in visit.only_crews):
            return Bar("other_crew", f"{crew.name} is not to go there")
        for load, amount in visit.loads.items():
            if amount > crew.capacity.get(load, 0):
                return Bar("load", f"{crew.name} can carry {crew.capacity.get(load, 0)} {load}, it needs {amount}")
        return None

    def bar(self, visit: VisitRequest, day: CrewDay) -> Bar | None:
        """The first rule that keeps the visit off this crew-day, other visits left aside."""
        return self.day_bar(visit, day.day) or self.crew_bar(visit, self.crews[day.crew])

    def hours(self, visit: VisitRequest) -> Sequence[Span]:
        """The client's hours, the whole day where none were given."""
        return visit.hours or ((0, self.problem.horizon.minutes_per_day),)

    def _in_light(self, day: CrewDay) -> CrewDay:
        """The shift cut to daylight, the shortest drive out and home left in the dark.

        No stop is nearer than the nearest, so no work falls into the dark; for far stops a little light is given away.
        """
        light = self.problem.daylight.get(day.day)
        if light is None:
            return day
        crew = self.crews[day.crew]
        travel = self.problem.travel
        sites = [travel.index[visit.site] for visit in self.problem.visits]
        start, end = travel.index[self.start_of(day)], travel.index[crew.returns_to]
        out = int(travel.minutes[start, sites].min()) if sites else 0
        home = int(travel.minutes[sites, end].min()) if sites else 0
        starts, ends = max(day.starts, light[0] - out), min(day.ends, light[1] + home)
        over = max(0, min(day.overtime_minutes, light[1] + home - ends))
        return replace(day, starts=min(starts, ends), ends=ends, overtime_minutes=over)


def worked_minutes(day: CrewDay) -> int:
    """Paid minutes of the shift: the break taken off, overtime not counted."""
    return max(0, day.ends - day.starts - break_of(day))


def break_of(day: CrewDay) -> int:
    """Minutes of the break; none on a day that ends before a break would be due."""
    return day.break_minutes if day.ends > day.break_from and day.starts < day.break_until else 0


def say_day(day: date) -> str:
    """A day as a sentence writes it: "5 March 2025"."""
    return f"{day.day} {day:%B %Y}"


def say_time(minute: int) -> str:
    """A time of day as a sentence writes it: "08:05"."""
    return f"{minute // 60:02d}:{minute % 60:02d}"
