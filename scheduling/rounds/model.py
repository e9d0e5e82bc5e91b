"""Our rounds written as a routing problem, and routes read back as sequences of visits.

Every visit becomes one client per unbroken run of allowed days, so that the shifts choose the day; every crew-day one
vehicle; every set of crews with the same rules one profile of matrices, in which a place a crew may not go to lies
farther away than any day is long. Prizes make leaving a visit out dearer than any drive.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from scheduling.rounds.lookup import CrewDayKey, Lookup, break_of
from scheduling.rounds.routing import Client, Matrix, Route, RoutingProblem, Vehicle
from scheduling.rounds.values import Crew, CrewDay, Span, VisitRequest

FORBIDDEN = 10_000_000
"""A drive longer than any horizon."""
PARTS = 4
"""Costs are counted in quarter minutes where even load is weighed, so that it stays below a minute of driving."""


@dataclass(frozen=True, kw_only=True)
class Hold:
    """Ties a visit to days or a crew while replanning: a price for leaving them, or no way out."""

    crew: str
    day: date
    is_firm: bool
    stay_bonus: int = 0
    crew_price: int = 0


@dataclass(frozen=True, kw_only=True)
class Shape:
    """How much of the rules to write: best parts off for a first, coarse answer; holds while replanning."""

    with_best_part: bool = True
    holds: Mapping[str, Hold] | None = None


@dataclass(frozen=True)
class Run:
    """Days in a row on which a visit may start, with hours, and what it earns there."""

    first: date
    last: date
    opens: int
    closes: int
    extra: int


@dataclass(frozen=True, eq=False)
class Model:
    """A routing problem with the way back to crews, days and visits."""

    lookup: Lookup
    problem: RoutingProblem
    visit_ids: tuple[str, ...]
    crew_days: tuple[tuple[CrewDayKey, ...], ...]
    """Per vehicle kind the crew-days that are alike."""

    def sequences(self, routes: Iterable[Route]) -> dict[CrewDayKey, tuple[str, ...]]:
        """Visits in order by crew and day."""
        free = {kind: list(keys) for kind, keys in enumerate(self.crew_days)}
        found = {}
        for kind, clients in routes:
            key = free[kind].pop(0)
            found[key] = tuple(self.visit_ids[self.problem.clients[client].visit] for client in clients)
        return found

    def routes(self, sequences: Mapping[CrewDayKey, Sequence[str]]) -> list[Route]:
        """Sequences as a start for the search; what no longer exists is left out."""
        kind_of = {key: kind for kind, keys in enumerate(self.crew_days) for key in keys}
        ways: dict[str, list[int]] = {}
        for number, client in enumerate(self.problem.clients):
            ways.setdefault(self.visit_ids[client.visit], []).append(number)
        routes = []
        for key, visits in sequences.items():
            if key not in kind_of:
                continue
            vehicle = self.problem.vehicles[kind_of[key]]
            chosen = [way for visit in visits if (way := self._way(ways.get(visit, ()), vehicle)) is not None]
            if chosen:
                routes.append((kind_of[key], tuple(chosen)))
        return routes

    def _way(self, ways: Iterable[int], vehicle: Vehicle) -> int | None:
        clients = self.problem.clients
        usable = [way for way in ways if clients[way].early <= vehicle.late and clients[way].late >= vehicle.early]
        return max(usable, key=lambda way: clients[way].prize, default=None)


def write_model(lookup: Lookup, shape: Shape | None = None) -> Model:
    """The routing problem of these rounds."""
    return _Writer(lookup, shape or Shape()).model()


def runs_of(lookup: Lookup, visit: VisitRequest, shape: Shape) -> tuple[Run, ...]:
    """The ways a visit may be made. Days nobody works do not break a run."""
    hold = (shape.holds or {}).get(visit.id)
    days = lookup.days_for(visit)
    if hold and hold.is_firm:
        days = tuple(day for day in days if day == hold.day)
    has_best = shape.with_best_part and visit.best_from is not None and visit.lock is None
    marked = [
        (day, (lookup.problem.weights.best_part if has_best and visit.is_best_on(day) else 0) + _stay(hold, day))
        for day in days
    ]
    if visit.hours and visit.lock is None:
        return tuple(
            Run(day, day, *_in_solver_time(lookup, hours), extra) for day, extra in marked for hours in visit.hours
        )
    runs: list[Run] = []
    place = {day: number for number, day in enumerate(lookup.working_days)}
    for day, extra in marked:
        if runs and runs[-1].extra == extra and place[runs[-1].last] + 1 == place[day]:
            runs[-1] = replace(runs[-1], last=day)
        else:
            runs.append(Run(day, day, 0, lookup.problem.horizon.minutes_per_day, extra))
    return tuple(runs)


def _stay(hold: Hold | None, day: date) -> int:
    return hold.stay_bonus if hold and not hold.is_firm and day == hold.day else 0


def _in_solver_time(lookup: Lookup, hours: Span) -> Span:
    """The client's hours on a clock that stands still during the break, which the library does not know.

    Whatever the library lays after a break that may already have begun happens later by the break at most, so hours
    end earlier by it. Hours that begin late enough for the break to lie before them begin earlier by it.
    """
    opens, closes = hours
    return opens - _pause_before(lookup, opens), closes - max(
        (break_of(day) for day in lookup.crew_days.values() if day.break_from < closes), default=0
    )


def _pause_before(lookup: Lookup, minute: int) -> int:
    """The break, if on every crew-day it surely lies before this minute."""
    pauses = [break_of(day) if minute - break_of(day) >= day.break_from else 0 for day in lookup.crew_days.values()]
    return min(pauses, default=0)


def _depots(lookup: Lookup, day: CrewDay) -> tuple[str, str]:
    return lookup.start_of(day), lookup.crews[day.crew].returns_to


class _Writer:
    def __init__(self, lookup: Lookup, shape: Shape) -> None:
        self.lookup, self.shape = lookup, shape
        self.depots = sorted({place for day in lookup.crew_days.values() for place in _depots(lookup, day)})
        self.visits = [visit for visit in lookup.visits.values() if runs_of(lookup, visit, shape)]
        self.loads = tuple(sorted({load for visit in self.visits for load in visit.loads}))
        self.counts_visits = any(day.most_visits is not None for day in lookup.crew_days.values())
        self.parts = PARTS if lookup.problem.weights.even_load else 1
        self.day = lookup.problem.horizon.minutes_per_day
        rows = [*self.depots, *(visit.site for visit in self.visits)]
        index = [lookup.problem.travel.index[place] for place in rows]
        self.minutes: Matrix = lookup.problem.travel.minutes[np.ix_(index, index)].astype(np.int64)
        self.profiles: dict[tuple[object, ...], int] = {}
        self.times: list[Matrix] = []
        self.costs: list[Matrix] = []

    def model(self) -> Model:
        profile_of = {crew.id: self._profile(crew) for crew in self.lookup.crews.values()}
        kinds: dict[Vehicle, list[CrewDayKey]] = {}
        for key, day in self.lookup.crew_days.items():
            kinds.setdefault(self._vehicle(day, profile_of[day.crew]), []).append(key)
        clients, groups = self._clients()
        problem = RoutingProblem(
            depots=len(self.depots),
            vehicles=tuple(replace(vehicle, count=len(keys)) for vehicle, keys in kinds.items()),
            clients=tuple(clients),
            groups=groups,
            times=tuple(self.times),
            costs=tuple(self.costs),
        )
        ids = tuple(visit.id for visit in self.visits)
        return Model(self.lookup, problem, ids, tuple(tuple(keys) for keys in kinds.values()))

    def _vehicle(self, day: CrewDay, profile: int) -> Vehicle:
        weights = self.lookup.problem.weights
        start, end = _depots(self.lookup, day)
        at = self.lookup.problem.horizon.number(day.day) * self.day
        pause = break_of(day)
        worked = day.ends - day.starts - pause
        longest = worked + day.overtime_minutes
        # One price is all the library knows: overtime where it may be worked, else even load.
        if day.overtime_minutes:
            full, price = worked, weights.overtime * self.parts
        elif weights.even_load:
            full, price = int(worked * weights.full_share), weights.even_load
        else:
            full, price = worked, 0
        capacity = tuple(self.lookup.crews[day.crew].capacity.get(load, 0) for load in self.loads)
        most = (day.most_visits if day.most_visits is not None else len(self.visits),) if self.counts_visits else ()
        return Vehicle(
            count=1,
            start=self.depots.index(start),
            end=self.depots.index(end),
            early=at + day.starts,
            late=at + day.ends + day.overtime_minutes - pause,
            longest=longest,
            full=full,
            price_beyond=price,
            profile=profile,
            capacity=capacity + most,
        )

    def _profile(self, crew: Crew) -> int:
        """The matrices of a crew, shared with crews to which the same rules apply."""
        barred, strange, extra = [], [], []
        for number, visit in enumerate(self.visits):
            place = len(self.depots) + number
            hold = (self.shape.holds or {}).get(visit.id)
            if self.lookup.crew_bar(visit, crew) or (hold and hold.is_firm and hold.crew != crew.id):
                barred.append(place)
                continue
            price = hold.crew_price if hold and hold.crew != crew.id else 0
            if visit.known_crew and visit.known_crew != crew.id:
                price += self.lookup.problem.weights.unknown_crew
            if price:
                strange.append((place, price))
            if longer := visit.takes(crew.id) - self._shortest(visit):
                extra.append((place, longer))
        key = (tuple(barred), tuple(strange), tuple(extra))
        if key not in self.profiles:
            self.profiles[key] = len(self.times)
            self._add_matrices(barred, strange, extra)
        return self.profiles[key]

    def _add_matrices(self, barred: list[int], strange: list[tuple[int, int]], extra: list[tuple[int, int]]) -> None:
        time, cost = self.minutes.copy(), self.minutes * self.parts
        for place, price in strange:
            cost[:, place] += price * self.parts
            cost[place, place] = 0
        for place, longer in extra:  # work that takes this crew longer is spent on leaving
            time[place, :] += longer
            time[place, place] = 0
        for place in barred:
            for matrix in (time, cost):
                matrix[:, place] = FORBIDDEN
                matrix[place, place] = 0
        self.times.append(time)
        self.costs.append(cost)

    def _shortest(self, visit: VisitRequest) -> int:
        if visit.lock:
            return visit.takes(visit.lock.crew)
        return min(visit.takes(crew.id) for crew in self.lookup.crews.values())

    def _longest(self, visit: VisitRequest) -> int:
        crews = [crew.id for crew in self.lookup.crews.values() if not self.lookup.crew_bar(visit, crew)]
        return max((visit.takes(crew) for crew in crews), default=visit.minutes)

    def _clients(self) -> tuple[list[Client], int]:
        clients: list[Client] = []
        groups = 0
        for number, visit in enumerate(self.visits):
            ways = self._ways(number, visit)
            if len(ways) > 1:
                ways = [replace(way, group=groups, is_required=False) for way in ways]
                groups += 1
            clients += ways
        return clients, groups

    def _ways(self, number: int, visit: VisitRequest) -> list[Client]:
        horizon, prize = self.lookup.problem.horizon, self._prize(visit)
        loads = tuple(visit.loads.get(load, 0) for load in self.loads) + ((1,) if self.counts_visits else ())
        hold = (self.shape.holds or {}).get(visit.id)
        must = bool(visit.lock) or bool(hold and hold.is_firm)
        ways = []
        for run in runs_of(self.lookup, visit, self.shape):
            early = horizon.number(run.first) * self.day + run.opens
            late = horizon.number(run.last) * self.day + run.closes - self._longest(visit)
            if visit.lock and visit.lock.start is not None:
                starts = visit.lock.start - _pause_before(self.lookup, visit.lock.start)
                early = late = horizon.number(run.first) * self.day + starts
            if early <= late:
                ways.append(
                    Client(
                        visit=number,
                        place=len(self.depots) + number,
                        service=self._shortest(visit),
                        early=early,
                        late=late,
                        prize=(prize + run.extra) * self.parts,
                        is_required=must,
                        group=None,
                        loads=loads,
                    )
                )
        return ways

    def _prize(self, visit: VisitRequest) -> int:
        weights = self.lookup.problem.weights
        if visit.prize is not None:
            return visit.prize
        if visit.is_optional:
            return weights.optional
        return weights.urgent if visit.is_urgent else weights.ordinary
