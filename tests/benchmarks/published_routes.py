"""Published vehicle routing instances with time windows: read, turned into our rounds, and checked.

Convention of the DIMACS implementation challenge, used by CVRPLIB (http://vrp.galgos.inf.puc-rio.br): a leg is the
Euclidean distance cut to one decimal, travel takes as long as it is far, total distance is minimised with any number
of vehicles up to the limit. All numbers are kept in tenths, so that they are whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scheduling.rounds import Crew, CrewDay, Horizon, RoundPlan, RoundsProblem, TravelMatrix, VisitRequest, Weights

DAY = date(2025, 1, 6)
TENTHS = 10


@dataclass(frozen=True)
class Instance:
    """A published instance, times and distances in tenths. Node 0 is the depot."""

    name: str
    vehicles: int
    capacity: int
    legs: NDArray[np.int64]
    demand: tuple[int, ...]
    windows: tuple[tuple[int, int], ...]
    service: tuple[int, ...]


def read_instance(path: Path) -> Instance:
    """Read the VRPLIB text form (Solomon 1987; Gehring and Homberger 1999)."""
    header: dict[str, str] = {}
    sections: dict[str, list[list[str]]] = {}
    section = ""
    for line in path.read_text(encoding="utf-8").splitlines():
        words = line.split()
        if not words or words[0] == "EOF":
            continue
        if ":" in line:
            key, value = line.split(":", 1)
            header[key.strip()] = value.strip()
            section = ""
        elif words[0].endswith("_SECTION"):
            section = words[0]
            sections[section] = []
        else:
            sections[section].append(words)
    points = np.array([[float(x), float(y)] for _, x, y in sections["NODE_COORD_SECTION"]])
    offsets = points[:, None, :] - points[None, :, :]
    legs = np.floor(TENTHS * np.sqrt((offsets**2).sum(axis=2)) + 1e-9).astype(np.int64)
    return Instance(
        name=header["NAME"],
        vehicles=int(header["VEHICLES"]),
        capacity=int(header["CAPACITY"]),
        legs=legs,
        demand=tuple(int(words[1]) for words in sections["DEMAND_SECTION"]),
        windows=tuple((int(words[1]) * TENTHS, int(words[2]) * TENTHS) for words in sections["TIME_WINDOW_SECTION"]),
        service=_service(header, sections, len(points)),
    )


def _service(header: dict[str, str], sections: dict[str, list[list[str]]], size: int) -> tuple[int, ...]:
    if "SERVICE_TIME_SECTION" in sections:
        return tuple(int(float(words[1]) * TENTHS) for words in sections["SERVICE_TIME_SECTION"])
    return (0, *([int(float(header["SERVICE_TIME"]) * TENTHS)] * (size - 1)))


def as_rounds(instance: Instance) -> RoundsProblem:
    """The instance as one day of our rounds: a tenth is a minute, vehicles are crews, demand is load."""
    depot_opens, depot_closes = instance.windows[0]
    places = tuple(str(node) for node in range(len(instance.legs)))
    crews = tuple(
        Crew(id=f"crew {number}", start="0", capacity={"load": instance.capacity})
        for number in range(instance.vehicles)
    )
    visits = tuple(
        VisitRequest(
            id=place,
            site=place,
            opens=DAY,
            closes=DAY,
            minutes=service,
            # The published window bounds the start of service, ours holds the whole visit.
            hours=((opens, closes + service),),
            loads={"load": load},
            prize=1_000_000,
        )
        for place, service, (opens, closes), load in list(
            zip(places, instance.service, instance.windows, instance.demand, strict=True)
        )[1:]
    )
    longest = depot_closes + max(instance.service) + 1
    return RoundsProblem(
        horizon=Horizon(first=DAY, days=1, minutes_per_day=longest),
        crews=crews,
        crew_days=tuple(
            CrewDay(crew=crew.id, day=DAY, starts=depot_opens, ends=depot_closes, break_minutes=0) for crew in crews
        ),
        visits=visits,
        travel=TravelMatrix(places, instance.legs, instance.legs.astype(float)),
        weights=Weights(even_load=0),
    )


def routes_of(plan: RoundPlan) -> list[list[int]]:
    """The customers of each round, in order."""
    return [[int(stop.visit) for stop in each.stops] for each in plan.rounds]


def check(instance: Instance, routes: Sequence[Sequence[int]]) -> tuple[float, list[str]]:
    """Total distance of the routes, and everything that is wrong with them. Independent of how they were found."""
    total, wrong = 0, []
    served = sorted(node for route in routes for node in route)
    if served != list(range(1, len(instance.legs))):
        wrong.append("not every customer is served exactly once")
    if len(routes) > instance.vehicles:
        wrong.append(f"{len(routes)} vehicles of {instance.vehicles}")
    for route in routes:
        total += _drive(instance, route, wrong)
    return total / TENTHS, wrong


def _drive(instance: Instance, route: Sequence[int], wrong: list[str]) -> int:
    if sum(instance.demand[node] for node in route) > instance.capacity:
        wrong.append(f"load of {route}")
    now, here, distance = instance.windows[0][0], 0, 0
    for node in [*route, 0]:
        distance += int(instance.legs[here, node])
        now = max(now + int(instance.legs[here, node]), instance.windows[node][0])
        if now > instance.windows[node][1]:
            wrong.append(f"late at {node}")
        now += instance.service[node]
        here = node
    return distance


def read_solution(path: Path) -> tuple[list[list[int]], float]:
    """Routes and cost of a published solution file."""
    routes, cost = [], 0.0
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("Route"):
            routes.append([int(word) for word in line.split(":")[1].split()])
        elif line.startswith("Cost"):
            cost = float(line.split()[1])
    return routes, cost
