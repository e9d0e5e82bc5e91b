"""The rounds as a routing problem in plain numbers: vehicles, clients with alternatives, matrices. No rules of ours.

`model` writes such a problem, `search` improves it piece by piece, `solver` hands a piece to the routing library.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.int64]
Route = tuple[int, tuple[int, ...]]
"""A vehicle kind and the clients it serves, in order."""


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """A kind of vehicle, ``count`` of them alike. Times on the axis; ``longest`` bounds the time away.

    Time away beyond ``full`` costs ``price_beyond`` a minute.
    """

    count: int
    start: int
    end: int
    early: int
    late: int
    longest: int
    full: int
    price_beyond: int
    profile: int
    capacity: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Client:
    """One way to make a visit: ``early`` and ``late`` bound the start. Ways of one visit share its ``group``."""

    visit: int
    place: int
    service: int
    early: int
    late: int
    prize: int
    is_required: bool
    group: int | None
    loads: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class RoutingProblem:
    """Vehicles, clients and one pair of matrices per profile. Places 0 … depots-1 are where days start and end.

    ``between`` are plain drives without bans or wishes, to tell what lies near.
    """

    depots: int
    vehicles: tuple[Vehicle, ...]
    clients: tuple[Client, ...]
    groups: int
    between: Matrix
    times: tuple[Matrix, ...]
    costs: tuple[Matrix, ...]

    @cached_property
    def ways_of(self) -> dict[int, tuple[int, ...]]:
        """Per visit its clients."""
        ways: dict[int, list[int]] = {}
        for number, client in enumerate(self.clients):
            ways.setdefault(client.visit, []).append(number)
        return {visit: tuple(numbers) for visit, numbers in ways.items()}

    def visits_in(self, routes: Iterable[Route]) -> set[int]:
        """The visits these routes make."""
        return {self.clients[client].visit for _, clients in routes for client in clients}


@dataclass(frozen=True)
class Routes:
    """Routes found, their cost (less is better), and whether they keep every rule."""

    routes: tuple[Route, ...]
    cost: int
    is_feasible: bool
    iterations: int = 0

    @property
    def rank(self) -> tuple[bool, int]:
        """Feasible before cheap."""
        return not self.is_feasible, self.cost


@dataclass(frozen=True, kw_only=True)
class Budget:
    """How long to search. ``iterations`` makes a run repeatable, ``seconds`` is what people wait for.

    One thread runs per seed. ``on_progress`` is called in the caller's thread a few times a second with
    (seconds, iterations, the best so far); ``should_stop`` is asked as often.
    """

    seconds: float | None = None
    iterations: int | None = None
    seeds: Sequence[int] = (1, 2)
    on_progress: Callable[[float, int, Routes], None] | None = None
    should_stop: Callable[[], bool] | None = None
    start: Sequence[Route] = field(default=())
