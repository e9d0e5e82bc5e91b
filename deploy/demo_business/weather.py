"""Invented daily weather of a cool maritime lowland: a yearly wave, a slow wander, and rain in spells."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random


@dataclass(frozen=True, kw_only=True)
class DemoStation:
    """An invented weather station."""

    code: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    warmth_c: float


STATIONS = (
    DemoStation(
        code="marrow-moor",
        name="Marrow Moor",
        latitude_deg=51.01,
        longitude_deg=-2.78,
        elevation_m=12,
        warmth_c=0.2,
    ),
    DemoStation(
        code="sedgebridge",
        name="Sedgebridge Hill",
        latitude_deg=51.11,
        longitude_deg=-2.79,
        elevation_m=88,
        warmth_c=-0.5,
    ),
)

# Shaped like, not taken from, the lowlands of south-west England (from memory: January about 2 to 8, July 12 to 21).
MEAN_C, SWING_C, COLDEST_DAY = 10.6, 6.3, 24
HALF_RANGE_WINTER_C, HALF_RANGE_SUMMER_C = 3.1, 4.7


def write_weather(folder: Path, *, first_day: date, last_day: date) -> list[Path]:
    """One CSV file (date, tmin, tmax, rain) per station."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for station in STATIONS:
        random = Random(f"weather of {station.code}")
        path = folder / f"{station.code}.csv"
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["date", "tmin", "tmax", "rain"])
            wander = 0.0
            wet = 0.0
            for offset in range((last_day - first_day).days + 1):
                day = first_day + timedelta(days=offset)
                wander = 0.86 * wander + random.gauss(0, 1.25)
                wet = 0.7 * wet + random.gauss(0, 0.7)
                writer.writerow([day.isoformat(), *_day(day, wander, wet, station, random)])
        paths.append(path)
    return paths


def normals(station: DemoStation) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The twelve monthly mean minima and maxima the invented weather wanders about."""
    lows, highs = [], []
    for month in range(1, 13):
        mean, half_range = _usual(date(2001, month, 15))
        lows.append(round(mean + station.warmth_c - half_range, 1))
        highs.append(round(mean + station.warmth_c + half_range, 1))
    return tuple(lows), tuple(highs)


def _usual(day: date) -> tuple[float, float]:
    wave = -math.cos(2 * math.pi * (day.timetuple().tm_yday - COLDEST_DAY) / 365.25)
    half_range = HALF_RANGE_WINTER_C + (HALF_RANGE_SUMMER_C - HALF_RANGE_WINTER_C) * (wave + 1) / 2
    return MEAN_C + SWING_C * wave, half_range


def _day(day: date, wander: float, wet: float, station: DemoStation, random: Random) -> tuple[float, float, float]:
    mean, half_range = _usual(day)
    mean += wander + station.warmth_c
    # Wet days are dull: the range between night and noon shrinks.
    half_range *= max(0.35, 1 - 0.3 * max(0.0, wet) + random.uniform(-0.15, 0.15))
    rain = round(random.expovariate(1 / 4.2), 1) if wet > 0.25 else 0.0
    return round(mean - half_range, 1), round(mean + half_range, 1), rain
