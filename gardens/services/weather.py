"""Weather stations and their days: stored, imported from files, chosen for a site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from business.errors import BadInput, Fault
from business.services.audit import note
from gardens.climate import FileChoices, Reading, Readings, Station, StationChoice, gap_report, rank_stations
from gardens.climate.stations import great_circle_km
from gardens.climate.values import DailyWeather, MonthlyNormals, Place
from gardens.climate.weather_files import read_weather
from gardens.models import DailyWeather as DailyWeatherRow
from gardens.models import Site, WeatherStation
from gardens.queries.weather import all_stations, measured_days

MOST_BYTES = 8 * 1024 * 1024
"""A century of daily readings in the widest layout we know is about 6 MB."""
FARTHEST_FORECAST_DAYS = 16
"""No daily forecast reaches further; what lies beyond is a wrong year."""
FAR_OFF_KM = 30.0
"""A file whose station lies this far from ours is worth a word."""


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
def add_station(*, code: str, name: str, place: Place) -> WeatherStation:
    """A new station.

    Raises:
        BadInput: the code is taken or not written as one, the name is empty.
    """
    if WeatherStation.objects.filter(code=code).exists():
        raise BadInput([Fault("code", f"{code} is the code of another station", "choose another")])
    try:
        return save_station(code=code, name=name, place=place)
    except ValidationError as error:
        faults = [(where, words) for where, several in error.message_dict.items() for words in several]
        raise BadInput([Fault(where, words, "mend it") for where, words in faults]) from error


@transaction.atomic
def store_days(
    *, station: WeatherStation, days: Sequence[DailyWeather], forecast_from: date | None = None
) -> StoredDays:
    """Keep daily weather; a day that is there already is brought up to date, one that is the same is left.

    Days on or after ``forecast_from`` are kept as a forecast, which the measurement overwrites when it comes.
    """
    kept = {row.on: row for row in DailyWeatherRow.objects.filter(station=station)}
    fresh, changed, same = [], [], 0
    for day in days:
        row = kept.get(day.on)
        is_forecast = forecast_from is not None and day.on >= forecast_from
        values = (day.tmin_c, day.tmax_c, day.rain_mm, is_forecast)
        if row is None:
            row = DailyWeatherRow(station=station, on=day.on)
            fresh.append(row)
        elif (row.tmin_c, row.tmax_c, row.rain_mm, row.is_forecast) == values:
            same += 1
            continue
        else:
            changed.append(row)
        row.tmin_c, row.tmax_c, row.rain_mm, row.is_forecast = values
    DailyWeatherRow.objects.bulk_create(fresh, batch_size=2000)
    DailyWeatherRow.objects.bulk_update(changed, ["tmin_c", "tmax_c", "rain_mm", "is_forecast"], batch_size=500)
    return StoredDays(added=len(fresh), changed=len(changed), same=same)


@dataclass(frozen=True, kw_only=True)
class WeatherImport:
    """What a file brought: how many days became what, what is missing in it, what else a person should know."""

    stored: StoredDays
    forecast_days: int
    report: tuple[str, ...]


def import_weather(*, station: WeatherStation, data: bytes | str, choices: FileChoices, today: date) -> WeatherImport:
    """Read a weather file and keep its days. All or nothing.

    Raises:
        BadInput: with every fault by row; the file is too large, holds no whole day, or days too far ahead.
    """
    if len(data) > MOST_BYTES:
        raise BadInput([too_large(choices.file)])
    readings = read_weather(data, choices)
    days = readings.days
    if not days:
        raise BadInput([Fault(choices.file, "no day has both temperatures", "bring daily minima and maxima")])
    farthest = today + timedelta(days=FARTHEST_FORECAST_DAYS)
    if days[-1].on > farthest:
        raise BadInput(
            [
                Fault(
                    choices.file,
                    f"{days[-1].on} lies more than {FARTHEST_FORECAST_DAYS} days ahead",
                    "look at the year; forecasts reach a fortnight",
                )
            ]
        )
    stored = store_days(station=station, days=days, forecast_from=today)
    report = tuple(gap_report(readings).splitlines()) + _about_place(station, readings)
    return WeatherImport(stored=stored, forecast_days=sum(day.on >= today for day in days), report=report)


def too_large(file: str) -> Fault:
    """The fault of a file beyond what is read."""
    return Fault(file, f"is larger than {MOST_BYTES // 1024 // 1024} MB", "bring fewer years at a time")


def _about_place(station: WeatherStation, readings: Readings) -> tuple[str, ...]:
    own = readings.station
    if own is None or own.latitude_deg is None or own.longitude_deg is None:
        return ()
    apart = great_circle_km((station.latitude_deg, station.longitude_deg), (own.latitude_deg, own.longitude_deg))
    if apart <= FAR_OFF_KM:
        return ()
    return (f"The file's station {own.name or own.key} lies {apart:.0f} km from {station.name}. Is it the right file?",)


def gaps_of(station: WeatherStation) -> list[str]:
    """What is missing among the measured days of a station, in sentences."""
    rows = measured_days(station).values_list("on", "tmin_c", "tmax_c")
    readings = Readings(readings=tuple(Reading(on=on, tmin_c=tmin, tmax_c=tmax) for on, tmin, tmax in rows))
    return gap_report(readings).splitlines()


def station_choices(site: Site) -> tuple[tuple[WeatherStation, StationChoice], ...]:
    """Every station with how well it fits a site, the best first: near, and at about its height."""
    stations = {str(station.pk): station for station in all_stations()}
    ranked = rank_stations(
        site.place,
        [
            Station(
                key=key,
                name=station.name,
                latitude_deg=station.latitude_deg,
                longitude_deg=station.longitude_deg,
                elevation_m=station.elevation_m,
            )
            for key, station in stations.items()
        ],
    )
    return tuple((stations[choice.station.key], choice) for choice in ranked)


@transaction.atomic
def choose_station(*, site: Site, station: WeatherStation | None) -> Site:
    """Which station speaks for a site; None: usual values of the place alone."""
    site = Site.objects.select_for_update(of=("self",)).select_related("station").get(pk=site.pk)
    before = site.station
    site.station = station
    site.save(update_fields=["station"])
    note(
        "weather station chosen",
        f"site:{site.pk}",
        before={"station": before.name if before else "usual values"},
        after={"station": station.name if station else "usual values"},
    )
    return site
