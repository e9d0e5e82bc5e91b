"""The rounds as a routing problem in plain numbers: vehicles, clients with alternatives, matrices. No rules of ours.

`model` writes such a problem, `solver` hands it to the routing library and brings sequences back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.int64]


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
    """Vehicles, clients and one pair of matrices per profile. Places 0 … depots-1 are where days start and end."""

    depots: int
    vehicles: tuple[Vehicle, ...]
    clients: tuple[Client, ...]
    groups: int
    times: tuple[Matrix, ...]
    costs: tuple[Matrix, ...]


Route = tuple[int, tuple[int, ...]]
"""A vehicle kind and the clients it serves, in order."""


@dataclass(frozen=True)
class Routes:
    """Routes found, their cost, and how long it took to find them."""

    routes: tuple[Route, ...]
    cost: int
    is_feasible: bool
    iterations: int
    seconds: float


@dataclass(frozen=True, kw_only=True)
class Budget:
    """How long to search. ``iterations`` makes a run repeatable, ``seconds`` is what people wait for.

    One thread runs per seed. ``on_progress`` is called in the caller's thread a few times a second with
    (seconds, iterations, best cost, routes of the best); ``should_stop`` is asked as often.
    """

    seconds: float | None = None
    iterations: int | None = None
    seeds: Sequence[int] = (1, 2)
    on_progress: Callable[[float, int, int, Sequence[Route]], None] | None = None
    should_stop: Callable[[], bool] | None = None
    start: Sequence[Route] = field(default=())
