"""Monthly normals where nobody has given any: a guess from the nearest well-known places.

Good enough to lay out a year before the first weather file is brought; every date built on it says "normals".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

from pydantic import Field

from gardens.climate.normals import at_height
from gardens.climate.tables import Row, read_table, shipped_text
from gardens.climate.values import MonthlyNormals, Place

EARTH_RADIUS_KM = 6371.0
NEIGHBOURS = 3
LATITUDE_WEIGHT = 2.0
"""A step to the pole changes the climate more than the same step along a parallel."""
HEIGHT_STEP_M = 50.0
DEGREE_STEP = 0.25


@dataclass(frozen=True, kw_only=True)
class KnownPlace:
    """A place whose usual weather the program ships with."""

    name: str
    place: Place
    normals: MonthlyNormals


_Months = Annotated[tuple[float, ...], Field(min_length=12, max_length=12)]


class _PlaceRow(Row):
    name: str
    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    height_m: float
    tmin: _Months
    tmax: _Months
    rain: _Months


class _File(Row):
    source: str
    place: tuple[_PlaceRow, ...]


@lru_cache(maxsize=1)
def known_places() -> tuple[KnownPlace, ...]:
    """The places of `gardens/knowledge/climate/normals.toml`."""
    return tuple(
        KnownPlace(
            name=row.name,
            place=Place(latitude_deg=row.latitude, longitude_deg=row.longitude, elevation_m=row.height_m),
            normals=MonthlyNormals(tmin_c=row.tmin, tmax_c=row.tmax, rain_mm=row.rain),
        )
        for row in read_table(_File, shipped_text("normals.toml"), "normals.toml").place
    )


def estimated_normals(place: Place) -> MonthlyNormals:
    """A guess at the place's normals: its nearest known places, brought to its height.

    Places of the other half of the world are used too, with their months moved by six. Rounded to a quarter degree
    and 50 m, as finer steps would promise what the guess cannot keep. A height of 0 counts as not known: the known
    places then keep their own.
    """
    return _estimate(
        round(place.latitude_deg / DEGREE_STEP) * DEGREE_STEP,
        round(place.longitude_deg / DEGREE_STEP) * DEGREE_STEP,
        round(place.elevation_m / HEIGHT_STEP_M) * HEIGHT_STEP_M,
    )


@lru_cache(maxsize=4096)
def _estimate(latitude: float, longitude: float, height_m: float) -> MonthlyNormals:
    ranked = sorted((_unlikeness(known, latitude, longitude), known.name, known) for known in known_places())
    chosen = ranked[:NEIGHBOURS]
    weights = [1 / (distance + 25.0) ** 2 for distance, _, _ in chosen]
    total = sum(weights)
    parts = []
    for weight, (_, _, known) in zip(weights, chosen, strict=True):
        normals = known.normals
        if height_m != 0:
            normals = at_height(normals, from_m=known.place.elevation_m, to_m=height_m)
        is_mirrored = (known.place.latitude_deg < 0) != (latitude < 0)
        parts.append((weight / total, _half_a_year_later(normals) if is_mirrored else normals))
    return MonthlyNormals(
        tmin_c=_mixed([(weight, part.tmin_c) for weight, part in parts]),
        tmax_c=_mixed([(weight, part.tmax_c) for weight, part in parts]),
        rain_mm=_mixed([(weight, part.rain_mm) for weight, part in parts]),
    )


def _unlikeness(known: KnownPlace, latitude: float, longitude: float) -> float:
    """A distance that says how far a climate is away. [km]"""
    mirror = 1 if (known.place.latitude_deg < 0) == (latitude < 0) else -1
    north_km = EARTH_RADIUS_KM * math.radians(abs(known.place.latitude_deg * mirror - latitude)) * LATITUDE_WEIGHT
    if mirror < 0:
        return north_km + 3000.0
    turn = abs(known.place.longitude_deg - longitude)
    east_km = EARTH_RADIUS_KM * math.radians(min(turn, 360 - turn)) * math.cos(math.radians(latitude))
    return math.hypot(north_km, east_km)


def _half_a_year_later(normals: MonthlyNormals) -> MonthlyNormals:
    def turned(months: tuple[float, ...]) -> tuple[float, ...]:
        return months[6:] + months[:6]

    return MonthlyNormals(tmin_c=turned(normals.tmin_c), tmax_c=turned(normals.tmax_c), rain_mm=turned(normals.rain_mm))


def _mixed(parts: Sequence[tuple[float, Sequence[float]]]) -> tuple[float, ...]:
    return tuple(round(sum(weight * months[m] for weight, months in parts), 2) for m in range(12))
