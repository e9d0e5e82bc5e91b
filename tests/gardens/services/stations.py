"""Invented stations and days for tests of weather on rows."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

from gardens.climate import DailyWeather, MonthlyNormals, Place
from gardens.models import WeatherStation
from gardens.services.weather import save_station
from tests import make

# Shaped like the Sacramento Valley (from memory: hot summers without rain, mild wet winters).
WARM_DRY_SUMMERS = MonthlyNormals(
    tmin_c=(4, 5, 7, 8, 11, 14, 15, 15, 14, 10, 6, 4),
    tmax_c=(13, 16, 19, 22, 27, 31, 34, 33, 31, 26, 18, 13),
    rain_mm=(90, 90, 70, 30, 15, 5, 0, 1, 5, 25, 50, 85),
)


def station(**values: Any) -> WeatherStation:
    """A station on a moor of Somerset, unless told otherwise."""
    given = {
        "code": f"station-{make.next_number()}",
        "latitude_deg": 51.02,
        "longitude_deg": -2.8,
        "elevation_m": 20.0,
        **values,
    }
    place = Place(
        latitude_deg=given["latitude_deg"], longitude_deg=given["longitude_deg"], elevation_m=given["elevation_m"]
    )
    return save_station(code=given["code"], name=given["code"].capitalize(), place=place)


def mild_days(first: date, count: int, *, warmer: float = 0.0) -> list[DailyWeather]:
    """Days of a cool maritime year: a yearly wave of 5 to 17 °C in the mean, every fourth day with rain."""
    days = []
    for step in range(count):
        on = first + timedelta(days=step)
        mean = 10.8 + warmer - 6.2 * math.cos(2 * math.pi * (on.timetuple().tm_yday - 24) / 365)
        days.append(
            DailyWeather(on=on, tmin_c=round(mean - 4, 1), tmax_c=round(mean + 4, 1), rain_mm=4.0 * (step % 4 == 0))
        )
    return days
