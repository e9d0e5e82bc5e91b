"""Drives as a crew, or a crew on a day, sees them: places it may not go to lie out of reach, wishes cost extra."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from scheduling.rounds.lookup import Lookup
from scheduling.rounds.routing import Matrix
from scheduling.rounds.values import Crew, VisitRequest
from scheduling.rounds.ways import Shape, days_open, extra_on, most_extra

FORBIDDEN = 10_000_000
"""A drive longer than any horizon."""
MATRIX_BYTES = 2 * 8
"""Two whole numbers per pair of places: minutes and cost."""


class Profiles:
    """Pairs of matrices, one per set of crews (and days) to which the same rules apply.

    ``minutes`` are the drives between depots, then visits; ``parts`` is how finely a minute of cost is counted.
    """

    def __init__(
        self, lookup: Lookup, shape: Shape, visits: Sequence[VisitRequest], minutes: Matrix, parts: int
    ) -> None:
        self.lookup, self.shape, self.visits, self.minutes, self.parts = lookup, shape, visits, minutes, parts
        self.depots = len(minutes) - len(visits)
        self.times: list[Matrix] = []
        self.costs: list[Matrix] = []
        self._known: dict[tuple[object, ...], int] = {}
        self._of_crew: dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]] = {}
        self._of_day: dict[date, tuple[np.ndarray, np.ndarray]] = {}

    def number(self, crew: Crew, day: date) -> int:
        """The profile of this crew on this day."""
        barred, toll, longer = self._crew_rules(crew)
        if self.shape.by_day:
            closed, missed = self._day_rules(day)
            barred, toll = barred | closed, toll + missed
        toll = np.where(barred, 0, toll)
        key = (barred.tobytes(), toll.tobytes(), longer.tobytes())
        if key not in self._known:
            self._known[key] = len(self.times)
            self._add(barred, toll, longer)
        return self._known[key]

    def _crew_rules(self, crew: Crew) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        if crew.id not in self._of_crew:
            self._of_crew[crew.id] = (
                np.array([self._is_barred(visit, crew) for visit in self.visits], dtype=bool),
                np.array([self._crew_toll(visit, crew) for visit in self.visits], dtype=np.int64),
                np.array(
                    [visit.takes(crew.id) - shortest(self.lookup, visit) for visit in self.visits], dtype=np.int64
                ),
            )
        return self._of_crew[crew.id]

    def _is_barred(self, visit: VisitRequest, crew: Crew) -> bool:
        hold = self.shape.hold(visit)
        return bool(self.lookup.crew_bar(visit, crew)) or bool(hold and hold.is_firm and hold.crew != crew.id)

    def _crew_toll(self, visit: VisitRequest, crew: Crew) -> int:
        hold = self.shape.hold(visit)
        toll = hold.crew_price if hold and hold.crew != crew.id else 0
        if visit.known_crew and visit.known_crew != crew.id:
            toll += self.lookup.problem.weights.unknown_crew
        return toll

    def _day_rules(self, day: date) -> tuple[np.ndarray, np.ndarray]:
        if day not in self._of_day:
            closed = [day not in days_open(self.lookup, visit, self.shape) for visit in self.visits]
            missed = [
                most_extra(self.lookup, visit, self.shape) - extra_on(self.lookup, visit, self.shape, day)
                for visit in self.visits
            ]
            self._of_day[day] = np.array(closed, dtype=bool), np.array(missed, dtype=np.int64)
        return self._of_day[day]

    def _add(self, barred: np.ndarray, toll: np.ndarray, longer: np.ndarray) -> None:
        time, cost = self.minutes.copy(), self.minutes * self.parts
        cost[:, self.depots :] += toll * self.parts
        time[self.depots :, :] += longer[:, None]  # work that takes this crew longer is spent on leaving
        for matrix in (time, cost):
            matrix[:, self.depots :][:, barred] = FORBIDDEN
            np.fill_diagonal(matrix, 0)
        self.times.append(time)
        self.costs.append(cost)


def shortest(lookup: Lookup, visit: VisitRequest) -> int:
    """Minutes of the visit with the quickest crew."""
    if visit.lock:
        return visit.takes(visit.lock.crew)
    if not visit.minutes_for:
        return visit.minutes
    return min(visit.takes(crew) for crew in lookup.crews)


def longest(lookup: Lookup, visit: VisitRequest) -> int:
    """Minutes of the visit with the slowest crew that may make it."""
    if not visit.minutes_for:
        return visit.minutes
    crews = [crew.id for crew in lookup.crews.values() if not lookup.crew_bar(visit, crew)]
    return max((visit.takes(crew) for crew in crews), default=visit.minutes)


def bytes_by_day(lookup: Lookup) -> int:
    """Memory the matrices would take with one pair per crew-day, an upper bound."""
    places = len(lookup.visits) + 2 * len(lookup.crews)
    return len(lookup.crew_days) * places * places * MATRIX_BYTES
