"""The records the climate tests share."""

from __future__ import annotations

import csv
import json
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from gardens.climate import DailyWeather, MonthlyNormals, Place, Reading, Readings, read_weather
from gardens.climate.phenology_table import shipped_phenology

DATA = Path(__file__).resolve().parents[2] / "data" / "climate"
SHARED = Path(__file__).resolve().parents[4] / "shared" / "references" / "climate-data"

SEATTLE = Place(latitude_deg=47.45, longitude_deg=-122.31, elevation_m=112, timezone="America/Los_Angeles")
LONDON = Place(latitude_deg=51.48, longitude_deg=0.0, elevation_m=20, timezone="Europe/London")
HASTINGS = Place(latitude_deg=-39.6, longitude_deg=176.9, elevation_m=10, timezone="Pacific/Auckland")

ALL_SPECIES = tuple(shipped_phenology().species)


Value = TypeVar("Value")


def there(value: Value | None) -> Value:
    """The value, which must be there."""
    assert value is not None
    return value


def load(name: str) -> Any:
    """A JSON file of the climate data."""
    return json.loads((DATA / name).read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def seattle() -> Readings:
    """Four years of Seattle, no gaps."""
    return read_weather((DATA / "seattle_2012_2015.csv").read_bytes())


@lru_cache(maxsize=1)
def seattle_normals() -> MonthlyNormals:
    """The monthly normals of Seattle."""
    months = load("frost_normals.json")["normals"]
    return MonthlyNormals(tmin_c=tuple(months["monthly_tmin"]), tmax_c=tuple(months["monthly_tmax"]))


@lru_cache(maxsize=8)
def shared_days(name: str) -> tuple[DailyWeather, ...]:
    """Days of a station that may be read but not copied; impossible values of the record are left out."""
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"{name} belongs to others and is only read where the shared folder is there")
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(
            DailyWeather(on=date.fromisoformat(row["date"]), tmin_c=float(row["tmin"]), tmax_c=float(row["tmax"]))
            for row in csv.DictReader(file)
            if float(row["tmax"]) < 60
        )


def shared_rows(name: str) -> list[dict[str, str]]:
    """Rows of a table that may be read but not copied."""
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"{name} belongs to others and is only read where the shared folder is there")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def shared_json(name: str) -> Any:
    """A JSON file that rests on records of others."""
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"{name} belongs to others and is only read where the shared folder is there")
    return json.loads(path.read_text(encoding="utf-8"))


def days_of(first: date, *pairs: tuple[float, float], rain: float | None = 0.0) -> tuple[DailyWeather, ...]:
    """Consecutive days from (tmin, tmax) pairs."""
    return tuple(
        DailyWeather(on=first + timedelta(days=step), tmin_c=low, tmax_c=high, rain_mm=rain)
        for step, (low, high) in enumerate(pairs)
    )


def readings_of(*days: DailyWeather) -> Readings:
    """Days as the readings of a station."""
    return Readings(
        readings=tuple(
            Reading(on=day.on, tmin_c=day.tmin_c, tmax_c=day.tmax_c, rain_mm=day.rain_mm)
            for day in sorted(days, key=lambda day: day.on)
        )
    )
