"""Our rounds written as a routing problem, and routes read back as sequences of visits.

Every crew-day becomes one vehicle, every visit one client or a few ways to make it (`ways`), every set of crews with the
same rules one pair of matrices (`profiles`). Prizes make leaving a visit out dearer than any drive.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduling.rounds.lookup import CrewDayKey, Lookup, break_of
from scheduling.rounds.profiles import Profiles, longest, shortest
from scheduling.rounds.routing import Client, Matrix, Route, RoutingProblem, Vehicle
from scheduling.rounds.values import CrewDay, VisitRequest
from scheduling.rounds.ways import Run, Shape, most_extra, pause_before, runs_of

PARTS = 4
"""Costs are counted in quarter minutes where even load is weighed, so that it stays below a minute of driving."""


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


def _depots(lookup: Lookup, day: CrewDay) -> tuple[str, str]:
    return lookup.start_of(day), lookup.crews[day.crew].returns_to


class _Writer:
    def __init__(self, lookup: Lookup, shape: Shape) -> None:
        self.lookup, self.shape = lookup, shape
        self.depots = sorted({place for day in lookup.crew_days.values() for place in _depots(lookup, day)})
        self.runs = {visit.id: runs for visit in lookup.visits.values() if (runs := runs_of(lookup, visit, shape))}
        self.visits = [lookup.visits[visit] for visit in self.runs]
        self.loads = tuple(sorted({load for visit in self.visits for load in visit.loads}))
        self.counts_visits = any(day.most_visits is not None for day in lookup.crew_days.values())
        self.parts = PARTS if lookup.problem.weights.even_load else 1
        self.day = lookup.problem.horizon.minutes_per_day
        rows = [*self.depots, *(visit.site for visit in self.visits)]
        index = [lookup.problem.travel.index[place] for place in rows]
        self.minutes: Matrix = lookup.problem.travel.minutes[np.ix_(index, index)].astype(np.int64)
        self.profiles = Profiles(lookup, shape, self.visits, self.minutes, self.parts)

    def model(self) -> Model:
        kinds: dict[Vehicle, list[CrewDayKey]] = {}
        for key, day in self.lookup.crew_days.items():
            kinds.setdefault(self._vehicle(day), []).append(key)
        clients, groups = self._clients()
        problem = RoutingProblem(
            depots=len(self.depots),
            vehicles=tuple(replace(vehicle, count=len(keys)) for vehicle, keys in kinds.items()),
            clients=tuple(clients),
            groups=groups,
            between=self.minutes,
            times=tuple(self.profiles.times),
            costs=tuple(self.profiles.costs),
        )
        ids = tuple(visit.id for visit in self.visits)
        return Model(self.lookup, problem, ids, tuple(tuple(keys) for keys in kinds.values()))

    def _vehicle(self, day: CrewDay) -> Vehicle:
        weights = self.lookup.problem.weights
        crew = self.lookup.crews[day.crew]
        start, end = _depots(self.lookup, day)
        at = self.lookup.problem.horizon.number(day.day) * self.day
        pause = break_of(day)
        worked = day.ends - day.starts - pause
        # One price is all the library knows: overtime where it may be worked, else even load.
        if day.overtime_minutes:
            full, price = worked, weights.overtime * self.parts
        elif weights.even_load:
            full, price = int(worked * weights.full_share), weights.even_load
        else:
            full, price = worked, 0
        capacity = tuple(crew.capacity.get(load, 0) for load in self.loads)
        most = (day.most_visits if day.most_visits is not None else len(self.visits),) if self.counts_visits else ()
        return Vehicle(
            count=1,
            start=self.depots.index(start),
            end=self.depots.index(end),
            early=at + day.starts,
            late=at + day.ends + day.overtime_minutes - pause,
            longest=worked + day.overtime_minutes,
            full=full,
            price_beyond=price,
            profile=self.profiles.number(crew, day.day),
            capacity=capacity + most,
        )

    def _clients(self) -> tuple[list[Client], int]:
        clients: list[Client] = []
        groups = 0
        for number, visit in enumerate(self.visits):
            ways = [way for run in self.runs[visit.id] if (way := self._way(number, visit, run))]
            if len(ways) > 1:
                ways = [replace(way, group=groups, is_required=False) for way in ways]
                groups += 1
            clients += ways
        return clients, groups

    def _way(self, number: int, visit: VisitRequest, run: Run) -> Client | None:
        horizon = self.lookup.problem.horizon
        early = horizon.number(run.first) * self.day + run.opens
        late = horizon.number(run.last) * self.day + run.closes - longest(self.lookup, visit)
        if visit.lock and visit.lock.start is not None:
            starts = visit.lock.start - pause_before(self.lookup, visit.lock.start)
            early = late = horizon.number(run.first) * self.day + starts
        if early > late:
            return None
        hold = self.shape.hold(visit)
        extra = most_extra(self.lookup, visit, self.shape) if self.shape.by_day else run.extra
        return Client(
            visit=number,
            place=len(self.depots) + number,
            service=shortest(self.lookup, visit),
            early=early,
            late=late,
            prize=(self._prize(visit) + extra) * self.parts,
            is_required=bool(visit.lock) or bool(hold and hold.is_firm),
            group=None,
            loads=tuple(visit.loads.get(load, 0) for load in self.loads) + ((1,) if self.counts_visits else ()),
        )

    def _prize(self, visit: VisitRequest) -> int:
        weights = self.lookup.problem.weights
        if visit.prize is not None:
            return visit.prize
        if visit.is_optional:
            return weights.optional
        return weights.urgent if visit.is_urgent else weights.ordinary
