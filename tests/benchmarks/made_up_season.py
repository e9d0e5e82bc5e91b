"""A made-up book of visits for the rounds, from a fixed seed.

Shares and spreads are assumptions of common practice: towns round a yard, a third of the clients with access days only,
a fifth with mornings or afternoons only, one visit in seven for a skill that one crew lacks, three in ten urgent.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, radians

import numpy as np

from scheduling.rounds import (
    Crew,
    CrewDay,
    Horizon,
    Point,
    RoundsProblem,
    VisitRequest,
    Weights,
    estimate_matrix,
)

MONDAY = date(2025, 2, 3)
KM_PER_DEGREE = 111.195


@dataclass(frozen=True, kw_only=True)
class Season:
    """How large a book to make up."""

    visits: int
    working_days: int
    crews: int = 3
    seed: int = 1
    has_best_parts: bool = True
    shift: tuple[int, int] = (480, 990)


def made_up(season: Season) -> RoundsProblem:
    """Crews, shifts and visits of the season."""
    random = np.random.default_rng(season.seed)
    places = {"yard": Point(latitude_deg=52.2, longitude_deg=0.12)}
    towns = random.normal(0, 12.5, (12, 2))
    for number in range(season.visits):
        km = (
            random.uniform(-25, 25, 2) if random.random() < 0.2 else towns[random.integers(12)] + random.normal(0, 2, 2)
        )
        places[f"site {number}"] = _point(km)
    weeks = -(-season.working_days // 5)
    days = [MONDAY + timedelta(days=7 * week + day) for week in range(weeks) for day in range(5)][: season.working_days]
    crews = tuple(
        Crew(
            id=f"crew {number + 1}",
            start="yard",
            skills=frozenset({"ladder", "saw"}) if number else frozenset({"saw"}),
        )
        for number in range(season.crews)
    )
    crew_days = tuple(
        CrewDay(crew=crew.id, day=day, starts=season.shift[0], ends=season.shift[1]) for day in days for crew in crews
    )
    visits = tuple(_visit(number, days, season, random) for number in range(season.visits))
    return RoundsProblem(
        horizon=Horizon(first=days[0], days=(days[-1] - days[0]).days + 1),
        crews=crews,
        crew_days=crew_days,
        visits=visits,
        travel=estimate_matrix(places),
        weights=Weights(),
    )


def _point(km: np.ndarray) -> Point:
    latitude = 52.2 + km[1] / KM_PER_DEGREE
    return Point(latitude_deg=latitude, longitude_deg=0.12 + km[0] / KM_PER_DEGREE / cos(radians(latitude)))


def _visit(number: int, days: list[date], season: Season, random: np.random.Generator) -> VisitRequest:
    minutes = int(np.clip(round(random.lognormal(np.log(44), 0.6) / 5) * 5, 15, 300))
    length = int(random.integers(3, 16))
    first = int(random.integers(0, max(1, len(days) - length + 1)))
    window = days[first : first + length]
    third = len(window) // 3
    access: dict[str, object] = {}
    if random.random() < 0.3:
        count = int(random.integers(1, 4))
        access["weekdays"] = frozenset(int(day) for day in random.choice(5, count, replace=False))
    if random.random() < 0.2:
        access["hours"] = ((480, 750),) if random.random() < 0.5 else ((750, 1080),)
    if random.random() < 0.15:
        access["skills"] = frozenset({"ladder"})
    if season.has_best_parts:
        access["best_from"], access["best_until"] = window[third], window[max(third, len(window) - 1 - third)]
    return VisitRequest(
        id=f"visit {number}",
        site=f"site {number}",
        opens=window[0],
        closes=window[-1],
        minutes=minutes,
        is_urgent=bool(random.random() < 0.3),
        **access,  # type: ignore[arg-type]
    )
