"""A small week for the tests: two crews, a yard, and sites on a line 20 minutes apart."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from scheduling.rounds import Crew, CrewDay, Effort, Horizon, RoundsProblem, TravelMatrix, VisitRequest, Weights

MONDAY = date(2025, 3, 3)
SITES = ("yard", "a", "b", "c", "d", "e", "f")
QUICK = Effort(iterations=300, seconds=None, seeds=(1, 2))
NORTH = Crew(id="north", label="North", start="yard", skills=frozenset({"ladder"}), capacity={"posts": 4})
SOUTH = Crew(id="south", label="South", start="yard", size=1, capacity={"posts": 2})


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def line(minutes: int = 20) -> TravelMatrix:
    legs = np.abs(np.subtract.outer(np.arange(len(SITES)), np.arange(len(SITES)))) * minutes
    return TravelMatrix(SITES, legs.astype(np.int64), legs.astype(float))


def visit(key: str, site: str = "a", minutes: int = 60, **more) -> VisitRequest:
    more = {"opens": day(0), "closes": day(4)} | more
    return VisitRequest(id=key, site=site, minutes=minutes, **more)


def shifts(crews=("north", "south"), days=range(5), **more) -> tuple[CrewDay, ...]:
    more = {"starts": 480, "ends": 1020} | more
    return tuple(CrewDay(crew=crew, day=day(number), **more) for number in days for crew in crews)


def week(*visits: VisitRequest, **more) -> RoundsProblem:
    given = {
        "horizon": Horizon(first=MONDAY, days=5),
        "crews": (NORTH, SOUTH),
        "crew_days": shifts(),
        "travel": line(),
        "weights": Weights(even_load=0),
    } | more
    return RoundsProblem(visits=visits, **given)
