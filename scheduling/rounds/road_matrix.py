"""A road matrix from a routing service: which addresses to ask, how to read the answers, how to join them to the estimate.

Pure: nothing is fetched here. The request is the public table request of an open-source routing engine (Project OSRM,
osrm-backend, docs/http.md, "Table service"): ``GET {base}/table/v1/{profile}/{longitude},{latitude};…`` with
``annotations=duration,distance`` and indices of sources and destinations; seconds and metres come back row by row,
``null`` where there is no way.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import product

import numpy as np
from numpy.typing import NDArray

from business.errors import BadInput, Fault
from scheduling.rounds.travel import Point, TravelMatrix, great_circle_table

MOST_PLACES = 100
"""Places a service answers for in one request by default (from memory); larger tables are asked for in blocks."""
MOST_OVER_ESTIMATE = 5.0
"""A road time over this many times the estimate is not believed."""


@dataclass(frozen=True)
class TableRequest:
    """One request and the block of the matrix its answer fills."""

    url: str
    rows: tuple[str, ...]
    columns: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class TableAnswer:
    """The block as answered, NaN where there is no way. [s], [m]"""

    rows: tuple[str, ...]
    columns: tuple[str, ...]
    seconds: NDArray[np.float64]
    metres: NDArray[np.float64]


def table_requests(
    base_url: str,
    places: Mapping[str, Point],
    *,
    fresh: Iterable[str] | None = None,
    profile: str = "driving",
    most: int = MOST_PLACES,
) -> tuple[TableRequest, ...]:
    """The requests that together ask for every pair, or for every pair that touches a ``fresh`` place.

    Only addresses under ``base_url`` are formed.
    """
    names = list(places)
    new = names if fresh is None else [name for name in names if name in set(fresh)]
    old = [name for name in names if name not in set(new)]
    size = most if len(names) <= most else max(1, most // 2)
    pairs = [*product(_blocks(new, size), _blocks(names, size)), *product(_blocks(old, size), _blocks(new, size))]
    return tuple(_request(base_url, places, profile, block) for block in pairs)


def _blocks(names: Sequence[str], size: int) -> list[Sequence[str]]:
    return [names[start : start + size] for start in range(0, len(names), size)]


def _request(
    base_url: str, places: Mapping[str, Point], profile: str, block: tuple[Sequence[str], Sequence[str]]
) -> TableRequest:
    rows, columns = block
    asked = list(dict.fromkeys([*rows, *columns]))
    number = {name: index for index, name in enumerate(asked)}
    path = ";".join(f"{places[name].longitude_deg:.6f},{places[name].latitude_deg:.6f}" for name in asked)
    query = "annotations=duration,distance"
    if list(rows) != asked or list(columns) != asked:
        query += "&sources=" + ";".join(str(number[name]) for name in rows)
        query += "&destinations=" + ";".join(str(number[name]) for name in columns)
    return TableRequest(f"{base_url.rstrip('/')}/table/v1/{profile}/{path}?{query}", tuple(rows), tuple(columns))


def read_table(request: TableRequest, body: str) -> TableAnswer:
    """The answer to a request.

    Raises:
        BadInput: not an answer of that shape, or the service refused; the fault says which.
    """
    try:
        answer = json.loads(body)
    except ValueError as error:
        raise _not_understood("the answer is not JSON") from error
    if not isinstance(answer, dict):
        raise _not_understood("the answer is not an object")
    if answer.get("code") != "Ok":
        raise _not_understood(f"the service says {answer.get('code')!r}: {answer.get('message', 'no message')}")
    shape = (len(request.rows), len(request.columns))
    seconds = _grid(answer.get("durations"), shape, "durations")
    metres = _grid(answer.get("distances"), shape, "distances")
    return TableAnswer(request.rows, request.columns, seconds, metres)


def _grid(rows: object, shape: tuple[int, int], what: str) -> NDArray[np.float64]:
    if not isinstance(rows, list) or len(rows) != shape[0]:
        raise _not_understood(f"{what} has not {shape[0]} rows")
    grid = np.full(shape, np.nan)
    for number, row in enumerate(rows):
        if not isinstance(row, list) or len(row) != shape[1]:
            raise _not_understood(f"row {number} of {what} has not {shape[1]} numbers")
        for column, value in enumerate(row):
            if value is None:
                continue
            if isinstance(value, bool) or not isinstance(value, int | float) or value < 0:
                raise _not_understood(f"{what} holds {value!r}")
            grid[number, column] = value
    return grid


def _not_understood(wrong: str) -> BadInput:
    return BadInput(
        [Fault("road matrix service", wrong, "check the address of the service; estimates are used meanwhile")]
    )


def join_to_estimate(
    estimate: TravelMatrix, answers: Sequence[TableAnswer], places: Mapping[str, Point], *, asked_on: date
) -> TravelMatrix:
    """The estimate with every believable road time put in its place, and notes on what was used.

    A road shorter than the great circle cannot be (coordinates swapped), one over five times the estimate is asked
    about; both keep the estimate.
    """
    minutes, km = estimate.minutes.copy(), estimate.km.copy()
    straight = great_circle_table([places[name] for name in estimate.places])
    counts = {"used": 0, "no way": 0, "too short": 0, "too long": 0}
    for row, column, seconds, metres in _pairs(estimate, answers):
        verdict = _verdict(seconds, metres, straight[row, column], int(estimate.minutes[row, column]))
        counts[verdict] += 1
        if verdict == "used":
            minutes[row, column] = int(np.ceil(round(seconds / 60, 9)))
            km[row, column] = metres / 1000
    return replace(estimate, minutes=minutes, km=km, notes=tuple(_notes(counts, estimate, asked_on)))


def _pairs(estimate: TravelMatrix, answers: Sequence[TableAnswer]) -> Iterator[tuple[int, int, float, float]]:
    for answer in answers:
        for number, start in enumerate(answer.rows):
            for place, end in enumerate(answer.columns):
                if start != end:
                    seconds, metres = float(answer.seconds[number, place]), float(answer.metres[number, place])
                    yield estimate.index[start], estimate.index[end], seconds, metres


def _verdict(seconds: float, metres: float, straight_km: float, estimated: int) -> str:
    if np.isnan(seconds) or np.isnan(metres):
        return "no way"
    # The map's earth and ours differ by up to 0.6 per cent; a few metres are lost in rounding coordinates.
    if metres / 1000 < straight_km * 0.99 - 0.05:
        return "too short"
    if seconds / 60 > MOST_OVER_ESTIMATE * max(estimated, 3):
        return "too long"
    return "used"


def _notes(counts: Mapping[str, int], estimate: TravelMatrix, asked_on: date) -> Iterator[str]:
    pairs = len(estimate.places) * (len(estimate.places) - 1)
    yield f"{counts['used']} of {pairs} travel times from the road service on {asked_on.isoformat()}."
    left = pairs - counts["used"]
    if left:
        yield f"{left} travel times are estimates from straight distances."
    if counts["no way"]:
        yield f"The road service found no way for {counts['no way']} pairs."
    if counts["too short"]:
        yield f"{counts['too short']} roads shorter than the straight line were not believed: check coordinates."
    if counts["too long"]:
        yield f"{counts['too long']} roads over {MOST_OVER_ESTIMATE:.0f} times the estimate were not believed: ask a driver."


class LegStore:
    """Road legs kept between plans, by coordinates: a moved site is asked anew, others are not."""

    def __init__(self) -> None:
        self._legs: dict[tuple[float, float, float, float], tuple[float, float, date]] = {}

    def put(self, ends: tuple[Point, Point], seconds: float, metres: float, asked_on: date) -> None:
        """Remember one leg."""
        self._legs[_leg(*ends)] = (seconds, metres, asked_on)

    def keep(self, answer: TableAnswer, places: Mapping[str, Point], asked_on: date) -> None:
        """Remember the legs of an answer."""
        for number, start in enumerate(answer.rows):
            for place, end in enumerate(answer.columns):
                seconds, metres = float(answer.seconds[number, place]), float(answer.metres[number, place])
                if not (np.isnan(seconds) or np.isnan(metres)):
                    self._legs[_leg(places[start], places[end])] = (seconds, metres, asked_on)

    def known(self, places: Mapping[str, Point], *, not_before: date) -> TableAnswer:
        """Legs between these places that were asked for on or after a day; NaN for the others."""
        names = tuple(places)
        seconds = np.full((len(names), len(names)), np.nan)
        metres = seconds.copy()
        for row, start in enumerate(names):
            for column, end in enumerate(names):
                leg = self._legs.get(_leg(places[start], places[end]))
                if leg and leg[2] >= not_before:
                    seconds[row, column], metres[row, column] = leg[0], leg[1]
        return TableAnswer(names, names, seconds, metres)

    def missing(self, places: Mapping[str, Point], *, not_before: date) -> frozenset[str]:
        """A few places that all unknown legs touch: those to ask for."""
        gaps = np.isnan(self.known(places, not_before=not_before).seconds)
        np.fill_diagonal(gaps, False)
        names, found = list(places), set()
        while gaps.any():
            worst = int((gaps.sum(axis=0) + gaps.sum(axis=1)).argmax())
            found.add(names[worst])
            gaps[worst, :] = gaps[:, worst] = False
        return frozenset(found)


def _leg(start: Point, end: Point) -> tuple[float, float, float, float]:
    return (
        round(start.latitude_deg, 6),
        round(start.longitude_deg, 6),
        round(end.latitude_deg, 6),
        round(end.longitude_deg, 6),
    )
