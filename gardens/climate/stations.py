"""Which weather station speaks for a site: near, and at about its height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from gardens.climate.normals import LAPSE_K_PER_M, rounded_height_step
from gardens.climate.readings import Station
from gardens.climate.values import DailyWeather, Place

EARTH_RADIUS_KM = 6371.0
KM_PER_100_M = 10.0
"""A station 100 m higher or lower counts as 10 km further away, as it is 0.65 K off before correction: program default."""
FARTHEST_KM = 100.0
GREATEST_HEIGHT_STEP_M = 500.0


@dataclass(frozen=True, kw_only=True)
class StationChoice:
    """A station and how well it fits a site. ``height_step_m`` is station minus site, None where unknown."""

    station: Station
    distance_km: float
    height_step_m: float | None
    score_km: float

    @property
    def is_fit(self) -> bool:
        """Whether it is near enough and at about the height of the site."""
        is_level = self.height_step_m is None or abs(self.height_step_m) <= GREATEST_HEIGHT_STEP_M
        return self.distance_km <= FARTHEST_KM and is_level


def great_circle_km(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Distance between two points of latitude and longitude [°] on a sphere. [km]"""
    (lat_a, lon_a), (lat_b, lon_b) = ((math.radians(x), math.radians(y)) for x, y in (a, b))
    half = math.sin((lat_b - lat_a) / 2) ** 2 + math.cos(lat_a) * math.cos(lat_b) * math.sin((lon_b - lon_a) / 2) ** 2
    return 2 * EARTH_RADIUS_KM * math.asin(min(1.0, math.sqrt(half)))


def rank_stations(place: Place, stations: Sequence[Station]) -> tuple[StationChoice, ...]:
    """Every station that has a position, the best for the site first. Equal ones are ordered by their key."""
    choices = []
    for station in stations:
        if station.latitude_deg is None or station.longitude_deg is None:
            continue
        distance = great_circle_km(
            (place.latitude_deg, place.longitude_deg), (station.latitude_deg, station.longitude_deg)
        )
        step = None if station.elevation_m is None else station.elevation_m - place.elevation_m
        score = distance + KM_PER_100_M * abs(step or 0.0) / 100
        choices.append(StationChoice(station=station, distance_km=distance, height_step_m=step, score_km=score))
    return tuple(sorted(choices, key=lambda choice: (choice.score_km, choice.station.key)))


def nearest_station(place: Place, stations: Sequence[Station]) -> StationChoice | None:
    """The station that fits a site best, or None where none is within 100 km and 500 m of height."""
    return next((choice for choice in rank_stations(place, stations) if choice.is_fit), None)


def brought_to_height(days: Sequence[DailyWeather], *, from_m: float, to_m: float) -> tuple[DailyWeather, ...]:
    """A station's days as they are likely at another height: 6.5 K cooler for each km, in steps of 25 m."""
    change = -LAPSE_K_PER_M * rounded_height_step(to_m - from_m)
    return tuple(
        replace(day, tmin_c=round(day.tmin_c + change, 3), tmax_c=round(day.tmax_c + change, 3)) for day in days
    )
