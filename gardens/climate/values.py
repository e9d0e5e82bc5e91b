"""The value types the climate core hands to the others."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

Stage = Literal[
    "leaf_fall",
    "dormant",
    "bud_swell",
    "bud_burst",
    "first_leaves",
    "pink_bud",
    "first_bloom",
    "full_bloom",
    "petal_fall",
    "fruit_set",
    "second_drop",
    "shoots_90",
    "shoot_ripe",
    "terminal_bud",
    "harvest_start",
    "harvest_end",
    "leaf_colour",
    "last_frost",
    "first_frost",
]
"""Stages of a tree's year, plus the two frost dates that windows may hang on."""

STAGES: tuple[str, ...] = get_args(Stage)

Basis = Literal["observed", "weather", "normals"]
"""Where a date comes from: seen at the site, this year's weather to date, or the usual date from monthly normals."""


@dataclass(frozen=True, kw_only=True)
class StageDate:
    """When a stage is reached at a site in one growing season.

    ``earliest`` and ``latest`` bound the middle 80 % of what may happen; for an observed stage all three are equal.
    """

    stage: str
    on: date
    earliest: date
    latest: date
    basis: Basis
    note: str = ""
    """What a person should know about this date ("too little chill: late and uneven"), empty if nothing."""

    def __post_init__(self) -> None:
        if not self.earliest <= self.on <= self.latest:
            raise ValueError(f"{self.stage}: {self.earliest} … {self.on} … {self.latest} are not in order")


@dataclass(frozen=True, kw_only=True)
class MonthlyNormals:
    """Mean daily minimum and maximum of the twelve calendar months, January first. [°C]

    ``rain_mm`` is the mean monthly rain, January first, empty where unknown.
    """

    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    rain_mm: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if len(self.tmin_c) != 12 or len(self.tmax_c) != 12 or len(self.rain_mm) not in (0, 12):
            raise ValueError("normals need twelve months, January first")
        for month, (low, high) in enumerate(zip(self.tmin_c, self.tmax_c, strict=True), start=1):
            if low > high:
                raise ValueError(f"month {month}: mean minimum {low} is above mean maximum {high}")


@dataclass(frozen=True, kw_only=True)
class DailyWeather:
    """One day at one place, measured or forecast.

    Temperatures in °C, rain in mm, mean wind in m/s; rain and wind are None where they are not known.
    """

    on: date
    tmin_c: float
    tmax_c: float
    rain_mm: float | None = None
    wind_ms: float | None = None


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a site is. Latitude and longitude in degrees, north and east positive; height in m above the sea."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float = 0.0
    timezone: str = "UTC"

    def __post_init__(self) -> None:
        if not -90 <= self.latitude_deg <= 90:
            raise ValueError(f"latitude {self.latitude_deg} lies outside -90 … 90")
        if not -180 <= self.longitude_deg <= 180:
            raise ValueError(f"longitude {self.longitude_deg} lies outside -180 … 180")

    @property
    def is_southern(self) -> bool:
        """Whether the seasons are those of the southern half of the world."""
        return self.latitude_deg < 0
