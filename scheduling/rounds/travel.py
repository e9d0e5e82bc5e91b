"""Travel time without a map service: great circle × circuity, by speed bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

EARTH_RADIUS_KM = 6371.009
"""Mean radius (2a + b) / 3 of the WGS-84 ellipsoid."""


@dataclass(frozen=True, kw_only=True)
class Point:
    """Where a place is, in degrees, north and east positive. ``area`` names the part of the country it lies in."""

    latitude_deg: float
    longitude_deg: float
    area: str = ""

    def __post_init__(self) -> None:
        if not (-90 <= self.latitude_deg <= 90 and -180 <= self.longitude_deg <= 180):
            raise ValueError(f"{self.latitude_deg}, {self.longitude_deg} is not a place on earth")


@dataclass(frozen=True, kw_only=True)
class Band:
    """Road kilometres up to ``until_km`` are driven at ``km_per_h``."""

    until_km: float
    km_per_h: float


USUAL_BANDS = (Band(until_km=3, km_per_h=25), Band(until_km=15, km_per_h=45), Band(until_km=float("inf"), km_per_h=65))


@dataclass(frozen=True, kw_only=True)
class TravelRules:
    """How straight kilometres become minutes.

    ``circuity`` is road over straight kilometres; about 1.2 in towns to 1.4 across a country (Newell 1980; Ballou,
    Rahardja, Sakai 2002, values from memory). ``detours`` gives another factor for trips into or out of an area
    behind a river or an estuary. ``corrections`` multiply the minutes of trips by area, as learned from recorded trips
    (between two areas by their geometric mean); ``correction`` stands for areas that have none. The bands and the minutes per trip (park, unload) are common practice.
    """

    circuity: float = 1.3
    minutes_per_trip: float = 3.0
    bands: tuple[Band, ...] = USUAL_BANDS
    detours: Mapping[str, float] = field(default_factory=dict)
    corrections: Mapping[str, float] = field(default_factory=dict)
    correction: float = 1.0


@dataclass(frozen=True, eq=False)
class TravelMatrix:
    """Whole minutes and kilometres between places, row to column. ``notes`` say where they come from."""

    places: tuple[str, ...]
    minutes: NDArray[np.int64]
    km: NDArray[np.float64]
    notes: tuple[str, ...] = ()
    index: Mapping[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        size = len(self.places)
        if self.minutes.shape != (size, size) or self.km.shape != (size, size):
            raise ValueError(f"the matrix must be {size} × {size}, one row and column per place")
        if size and (self.minutes < 0).any():
            raise ValueError("travel minutes must not be negative")
        object.__setattr__(self, "index", {place: row for row, place in enumerate(self.places)})

    def leg(self, start: str, end: str) -> int:
        """Minutes from one place to another."""
        return int(self.minutes[self.index[start], self.index[end]])


def great_circle_km(one: Point, two: Point) -> float:
    """Kilometres along the great circle, by the haversine on a sphere with the mean earth radius. [km]"""
    table = great_circle_table([one, two])
    return float(table[0, 1])


def great_circle_table(points: Sequence[Point]) -> NDArray[np.float64]:
    """Great-circle kilometres between all points."""
    latitude = np.radians([point.latitude_deg for point in points])
    longitude = np.radians([point.longitude_deg for point in points])
    half_lat = np.sin((latitude[:, None] - latitude[None, :]) / 2)
    half_lon = np.sin((longitude[:, None] - longitude[None, :]) / 2)
    haversine = half_lat**2 + np.cos(latitude)[:, None] * np.cos(latitude)[None, :] * half_lon**2
    # Rounding can push antipodes a hair over 1, where the arcsine ends.
    table: NDArray[np.float64] = 2 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.minimum(1.0, haversine)))
    return table


def estimate_minutes(straight_km: float, rules: TravelRules | None = None) -> int:
    """Driving minutes for a trip of that many straight kilometres, rounded up; 0 for no distance."""
    rules = rules or TravelRules()
    table = _minutes(np.array([[straight_km]]), np.array([[rules.circuity]]), rules)
    return int(np.ceil(np.round(table, 9))[0, 0])


def estimate_matrix(places: Mapping[str, Point], rules: TravelRules | None = None) -> TravelMatrix:
    """The matrix between places by the estimate alone."""
    rules = rules or TravelRules()
    points = list(places.values())
    straight = great_circle_table(points) if points else np.zeros((0, 0))
    factor = _factors(points, rules)
    learned = np.array([rules.corrections.get(point.area, rules.correction) for point in points])
    correction = np.sqrt(learned[:, None] * learned[None, :])
    minutes = _minutes(straight, factor, rules) * correction
    return TravelMatrix(
        tuple(places),
        np.ceil(np.round(minutes, 9)).astype(np.int64),
        straight * factor,
        ("Travel times are estimates from straight distances.",),
    )


def _factors(points: Sequence[Point], rules: TravelRules) -> NDArray[np.float64]:
    """Circuity per pair: a detour counts between areas, not inside one."""
    own = np.array([rules.detours.get(point.area, rules.circuity) for point in points], dtype=np.float64)
    areas = np.array([point.area for point in points], dtype=object)
    table: NDArray[np.float64] = np.maximum(own[:, None], own[None, :])
    return np.where(areas[:, None] == areas[None, :], rules.circuity, table)


def _minutes(straight_km: NDArray[np.float64], factor: NDArray[np.float64], rules: TravelRules) -> NDArray[np.float64]:
    road = straight_km * factor
    minutes = np.where(road > 0, rules.minutes_per_trip, 0.0)
    start = 0.0
    for band in rules.bands:
        minutes = minutes + np.clip(road - start, 0, band.until_km - start) / band.km_per_h * 60
        start = band.until_km
    return minutes
