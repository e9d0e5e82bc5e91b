"""Weather stations and their days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from gardens.climate.values import DailyWeather, MonthlyNormals, Place
from gardens.models import DailyWeather as DailyWeatherRow
from gardens.models import WeatherStation


@dataclass(frozen=True, kw_only=True)
class StoredDays:
    """What became of the days of one file."""

    added: int
    changed: int
    same: int


@transaction.atomic
def save_station(*, code: str, name: str, place: Place, normals: MonthlyNormals | None = None) -> WeatherStation:
    """Add a station or bring it up to date."""
    station = WeatherStation.objects.filter(code=code).first() or WeatherStation(code=code)
    station.name = name
    station.latitude_deg = place.latitude_deg
    station.longitude_deg = place.longitude_deg
    station.elevation_m = place.elevation_m
    if normals is not None:
        station.normal_tmin_c = list(normals.tmin_c)
        station.normal_tmax_c = list(normals.tmax_c)
        station.normal_rain_mm = list(normals.rain_mm)
    station.full_clean()
    station.save()
    return station


@transaction.atomic
def store_days(*, station: WeatherStation, days: Sequence[DailyWeather]) -> StoredDays:
    """Keep daily weather; a day that is there already is brought up to date, one that is the same is left."""
    kept = {row.on: row for row in DailyWeatherRow.objects.filter(station=station)}
    fresh, changed, same = [], [], 0
    for day in days:
        row = kept.get(day.on)
        if row is None:
            fresh.append(
                DailyWeatherRow(station=station, on=day.on, tmin_c=day.tmin_c, tmax_c=day.tmax_c, rain_mm=day.rain_mm)
            )
        elif (row.tmin_c, row.tmax_c, row.rain_mm) == (day.tmin_c, day.tmax_c, day.rain_mm):
            same += 1
        else:
            row.tmin_c, row.tmax_c, row.rain_mm = day.tmin_c, day.tmax_c, day.rain_mm
            changed.append(row)
    DailyWeatherRow.objects.bulk_create(fresh, batch_size=2000)
    DailyWeatherRow.objects.bulk_update(changed, ["tmin_c", "tmax_c", "rain_mm"], batch_size=500)
    return StoredDays(added=len(fresh), changed=len(changed), same=same)
