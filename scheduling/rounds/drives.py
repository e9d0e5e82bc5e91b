"""What recorded drives say about the estimate, area by area."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import cos, exp, floor, log, radians
from statistics import median, quantiles

LEAST_TRIPS = 20
"""Fewer trips say more about single days than about the roads."""
LOWEST, HIGHEST = 0.5, 2.0
"""Beyond these a place or a clock is wrong, which a person must look at."""
AREA_DEG = 0.1
"""An area is a square of about 11 km."""
MOST_TURNS = 40
ELSEWHERE = ""


@dataclass(frozen=True, kw_only=True)
class Trip:
    """A recorded drive: the area it ended in, what was estimated without correction, what it took. [minutes]

    ``from_area`` is where it began, empty for the same area.
    """

    area: str
    estimated_minutes: float
    taken_minutes: float
    on: date | None = None
    from_area: str = ""

    @property
    def ends(self) -> tuple[str, str]:
        """The areas it joins."""
        return self.from_area or self.area, self.area


@dataclass(frozen=True, kw_only=True)
class Correction:
    """What the recorded trips of an area say about the estimate. The middle half of them lay in ``middle_half``."""

    area: str
    factor: float
    trips: int
    why: str
    middle_half: tuple[float, float] = (1.0, 1.0)
    was_held: bool = False


def area_of(latitude_deg: float, longitude_deg: float) -> str:
    """The name of the square of about 11 km a place lies in."""
    row = floor(latitude_deg / AREA_DEG)
    width = AREA_DEG / max(0.01, cos(radians((row + 0.5) * AREA_DEG)))
    return f"{row}/{floor(longitude_deg / width)}"


def learn_corrections(trips: Sequence[Trip]) -> tuple[Correction, ...]:
    """Per area a factor on the estimate, where at least 20 recorded trips touch the area.

    A trip between two areas is estimated with the geometric mean of their factors, so it speaks for both: each area in
    turn takes the median of what its trips leave for it, until nothing changes. The median is not moved by the one
    trip behind a tractor. Factors are held between 0.5 and 2.
    """
    ratios = _ratios(trips)
    touching: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for (start, end), ratio in ratios:
        touching[end].append((start, ratio))
        if start != end:
            touching[start].append((end, ratio))
    known = {area: trips_there for area, trips_there in sorted(touching.items()) if len(trips_there) >= LEAST_TRIPS}
    usual = median(ratio for _, ratio in ratios) if ratios else 0.0
    logs = _settled(known, usual)
    return tuple(_correction(area, logs[area], _left(area, known[area], logs, usual)) for area in known)


def learn_elsewhere(trips: Sequence[Trip]) -> Correction | None:
    """One factor from all recorded trips together, for areas with too few of their own. None below 20 trips."""
    values = [ratio for _, ratio in _ratios(trips)]
    return _correction(ELSEWHERE, median(values), values) if len(values) >= LEAST_TRIPS else None


def _ratios(trips: Sequence[Trip]) -> list[tuple[tuple[str, str], float]]:
    """The logarithm of taken over estimated of every trip that has both."""
    return [
        (trip.ends, log(trip.taken_minutes) - log(trip.estimated_minutes))
        for trip in trips
        if trip.estimated_minutes > 0 and trip.taken_minutes > 0
    ]


def _settled(known: Mapping[str, Sequence[tuple[str, float]]], usual: float) -> dict[str, float]:
    logs = dict.fromkeys(known, usual)
    for _ in range(MOST_TURNS):
        # Half the way each time: two areas joined only to each other would else swing for ever.
        fresh = {area: (logs[area] + median(_left(area, trips, logs, usual))) / 2 for area, trips in known.items()}
        change = max((abs(fresh[area] - logs[area]) for area in known), default=0.0)
        logs = fresh
        if change < 1e-5:
            break
    return logs


def _left(area: str, trips: Sequence[tuple[str, float]], logs: Mapping[str, float], usual: float) -> list[float]:
    """What each trip leaves for this area when the other end has its share."""
    return [ratio if other == area else 2 * ratio - logs.get(other, usual) for other, ratio in trips]


def _correction(area: str, middle: float, left: Sequence[float]) -> Correction:
    factor = round(min(HIGHEST, max(LOWEST, exp(middle))), 3)
    low, _, high = (exp(value) for value in quantiles(left, n=4, method="inclusive"))
    was_held = not LOWEST <= exp(middle) <= HIGHEST
    held = f" Held at {factor:g}: look at the place on the map, or the clocks." if was_held else ""
    return Correction(
        area=area,
        factor=factor,
        trips=len(left),
        why=(
            f"{len(left)} recorded drives: the middle one took {exp(middle):.2f} times the estimate, half of them between "
            f"{low:.2f} and {high:.2f}.{held}"
        ),
        middle_half=(round(low, 2), round(high, 2)),
        was_held=was_held,
    )
