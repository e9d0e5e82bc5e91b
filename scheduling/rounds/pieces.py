"""A routing problem cut into pieces that can be improved side by side, and two answers crossed into a third.

Most of an iteration on a large problem goes into carrying the whole of it along. A piece is some routes with their
visits, a share of the free vehicles and of the visits left out; improving it improves the whole by as much.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from scheduling.rounds.routing import Route, RoutingProblem, Vehicle


@dataclass(frozen=True)
class Piece:
    """A part of the problem, the routes it starts from in its own numbers, and the way back."""

    problem: RoutingProblem
    start: tuple[Route, ...]
    kinds: tuple[int, ...]
    clients: tuple[int, ...]

    def home(self, routes: Sequence[Route]) -> tuple[Route, ...]:
        """Routes of the piece in the numbers of the whole."""
        return tuple((self.kinds[kind], tuple(self.clients[client] for client in clients)) for kind, clients in routes)


@dataclass(frozen=True)
class _Truck:
    """One vehicle with the route it drives now, perhaps none."""

    kind: int
    clients: tuple[int, ...]


def cut(problem: RoutingProblem, routes: Sequence[Route], count: int, random: Random) -> list[Piece]:
    """Cut the problem into ``count`` pieces along a random direction in space or in time.

    Every vehicle and every visit is in exactly one piece.
    """
    trucks = _trucks(problem, routes)
    keys = _keys(problem, trucks, random)
    order = sorted(range(len(trucks)), key=lambda truck: keys[truck])
    shift = random.randrange(len(order)) if len(order) > count else 0
    order = order[shift:] + order[:shift]
    weights = [1 + len(trucks[truck].clients) for truck in order]
    bounds = np.cumsum(weights) * count / sum(weights)
    groups: list[list[_Truck]] = [[] for _ in range(count)]
    for truck, bound in zip(order, bounds, strict=True):
        groups[min(count - 1, int(bound - 1e-9))].append(trucks[truck])
    groups = [group for group in groups if group]
    left = _share_out(problem, routes, groups, random)
    return [_piece(problem, group, extra) for group, extra in zip(groups, left, strict=True)]


def _share_out(
    problem: RoutingProblem, routes: Sequence[Route], groups: Sequence[Sequence[_Truck]], random: Random
) -> list[list[int]]:
    """Each visit left out goes to one of the groups that could make it."""
    left: list[list[int]] = [[] for _ in groups]
    placed = problem.visits_in(routes)
    vehicles = [[problem.vehicles[kind] for kind in {truck.kind for truck in group}] for group in groups]
    for visit, ways in problem.ways_of.items():
        if visit in placed:
            continue
        able = [number for number, group in enumerate(vehicles) if any(_is_served(problem, way, group) for way in ways)]
        if able:
            left[random.choice(able)].append(visit)
    return left


def _trucks(problem: RoutingProblem, routes: Sequence[Route]) -> list[_Truck]:
    trucks = [_Truck(kind, clients) for kind, clients in routes if clients]
    used = Counter(truck.kind for truck in trucks)
    for kind, vehicle in enumerate(problem.vehicles):
        trucks += [_Truck(kind, ()) for _ in range(vehicle.count - used[kind])]
    return trucks


def _keys(problem: RoutingProblem, trucks: Sequence[_Truck], random: Random) -> list[float]:
    """A number per vehicle; vehicles with near numbers come into the same piece."""
    starts = [problem.vehicles[truck.kind].early for truck in trucks]
    if len(set(starts)) > 1 and random.random() < 0.6:
        return [start + 1e-3 * random.random() for start in starts]
    # A direction through two places, from distances alone: the projection of a point on the line between them is
    # (a² - b²) / 2c up to a constant, a and b its distances to the two, c the distance between them.
    driving = [truck for truck in trucks if truck.clients]
    if not driving:
        return [random.random() for _ in trucks]
    table = problem.between
    one = problem.clients[random.choice(random.choice(driving).clients)].place
    places = [problem.clients[client].place for truck in driving for client in truck.clients]
    two = max(random.sample(places, min(8, len(places))), key=lambda place: int(table[one, place]))
    keys = []
    for truck in trucks:
        own = [problem.clients[client].place for client in truck.clients]
        own = own or [problem.clients[random.choice(random.choice(driving).clients)].place]
        far = table[np.ix_([one, two], own)].astype(float)
        keys.append(float((far[0] ** 2 - far[1] ** 2).mean()))
    return keys


def _piece(problem: RoutingProblem, trucks: Sequence[_Truck], extra: Sequence[int]) -> Piece:
    kinds = tuple(sorted({truck.kind for truck in trucks}))
    kind_of = {kind: number for number, kind in enumerate(kinds)}
    counts = Counter(truck.kind for truck in trucks)
    vehicles = [problem.vehicles[kind] for kind in kinds]
    routes = [(truck.kind, truck.clients) for truck in trucks if truck.clients]
    chosen = {client for _, clients in routes for client in clients}
    ways = [
        way
        for visit in (*sorted(problem.visits_in(routes)), *extra)
        for way in problem.ways_of[visit]
        if way in chosen or _is_served(problem, way, vehicles)
    ]
    places = [*range(problem.depots), *sorted({problem.clients[way].place for way in ways})]
    place_of = {place: number for number, place in enumerate(places)}
    sizes = Counter(problem.clients[way].visit for way in ways)
    groups = {visit: number for number, visit in enumerate(visit for visit, size in sizes.items() if size > 1)}
    clients = tuple(
        replace(
            problem.clients[way],
            place=place_of[problem.clients[way].place],
            group=groups.get(problem.clients[way].visit),
        )
        for way in ways
    )
    square = np.ix_(places, places)
    profiles = sorted({vehicle.profile for vehicle in vehicles})
    part = RoutingProblem(
        depots=problem.depots,
        vehicles=tuple(
            replace(vehicle, count=counts[kind], profile=profiles.index(vehicle.profile))
            for kind, vehicle in zip(kinds, vehicles, strict=True)
        ),
        clients=clients,
        groups=len(groups),
        between=np.ascontiguousarray(problem.between[square]),
        times=tuple(np.ascontiguousarray(problem.times[profile][square]) for profile in profiles),
        costs=tuple(np.ascontiguousarray(problem.costs[profile][square]) for profile in profiles),
    )
    number_of = {way: number for number, way in enumerate(ways)}
    start = tuple((kind_of[kind], tuple(number_of[client] for client in clients)) for kind, clients in routes)
    return Piece(part, start, kinds, tuple(ways))


def _is_served(problem: RoutingProblem, way: int, vehicles: Sequence[Vehicle]) -> bool:
    client = problem.clients[way]
    return any(vehicle.early <= client.late and vehicle.late >= client.early for vehicle in vehicles)


def cross(problem: RoutingProblem, one: Sequence[Route], two: Sequence[Route], random: Random) -> list[Route]:
    """Routes of ``one``, those round a random visit replaced by the routes of ``two`` that know the same visits.

    Visits that fall between the two stay out; the search that follows puts them back.
    """
    routes = [route for route in one if route[1]]
    other = [route for route in two if route[1]]
    if len(routes) < 2 or not other:
        return list(routes)
    pivot = problem.clients[random.choice(random.choice(routes)[1])]
    count = random.randint(1, max(1, len(routes) // 2))
    near = sorted(range(len(routes)), key=lambda number: _distance(problem, pivot.place, routes[number]))
    dropped = set(near[:count])
    kept = [route for number, route in enumerate(routes) if number not in dropped]
    wanted = problem.visits_in(routes[number] for number in dropped)
    overlap = [len(wanted & problem.visits_in([route])) / len(route[1]) for route in other]
    taken = problem.visits_in(kept)
    used = Counter(kind for kind, _ in kept)
    for number in sorted(range(len(other)), key=lambda number: -overlap[number])[:count]:
        kind, clients = other[number]
        fresh = tuple(client for client in clients if problem.clients[client].visit not in taken)
        if fresh and used[kind] < problem.vehicles[kind].count:
            kept.append((kind, fresh))
            used[kind] += 1
            taken |= problem.visits_in([(kind, fresh)])
    return kept


def _distance(problem: RoutingProblem, place: int, route: Route) -> int:
    return min(int(problem.between[problem.clients[client].place, place]) for client in route[1])
