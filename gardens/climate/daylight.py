"""Day length for heat and chill sums, and civil sunrise and sunset for people.

Two tools for two needs: `day_length_hours` works on whole arrays of days and needs no clock zone; `sun_times` gives
the two clock times of one day at one place to within a minute.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.values import Place

HORIZON_DEG = -0.8333
"""Height of the sun's centre at sunrise: refraction and the sun's radius."""

ZENITH_AT_SUNRISE_DEG = 90.833


def half_day_hours(latitude_deg: float, day_of_year: Floats) -> Floats:
    """Hours from solar noon to sunset, 0 in polar night and 12 in polar day.

    Declination after Spencer (1971), sunset angle with the sun's radius and refraction after Almorox et al. (2005).
    """
    angle = 2 * np.pi * (day_of_year - 1) / 365
    declination = (
        0.006918
        - 0.399912 * np.cos(angle)
        + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2 * angle)
        + 0.000907 * np.sin(2 * angle)
        - 0.002697 * np.cos(3 * angle)
        + 0.00148 * np.sin(3 * angle)
    )
    latitude = math.radians(min(89.99, max(-89.99, latitude_deg)))
    cosine = (math.sin(math.radians(HORIZON_DEG)) - math.sin(latitude) * np.sin(declination)) / (
        math.cos(latitude) * np.cos(declination)
    )
    return np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) / 15


def day_length_hours(latitude_deg: float, day_of_year: Floats) -> Floats:
    """Time from sunrise to sunset [h], 0 … 24. At most 9 min from an ephemeris up to 60° (see `sun_times`)."""
    return 2 * half_day_hours(latitude_deg, day_of_year)


@dataclass(frozen=True, kw_only=True)
class SunTimes:
    """Sunrise and sunset of one civil day; None where the sun does not cross the horizon that day."""

    sunrise: datetime | None
    sunset: datetime | None
    day_length_h: float


def sun_times(place: Place, on: date) -> SunTimes:
    """Sunrise, sunset and day length [h] on the civil day ``on`` in the place's time zone, to about a minute.

    NOAA's solar equations (after Meeus, low precision), recomputed at the found instant. In polar night and day there
    are no times and the length is 0 or 24.

    Raises:
        zoneinfo.ZoneInfoNotFoundError: when the place's zone is not known.
    """
    zone = ZoneInfo(place.timezone)
    rise = _event_on(place, on, zone, is_rise=True)
    fall = _event_on(place, on, zone, is_rise=False)
    if rise is None or fall is None:
        declination, _ = _declination_and_equation(_julian_day(datetime(on.year, on.month, on.day, 12, tzinfo=UTC)))
        cosine = _hour_angle_cosine(place.latitude_deg, declination)
        if abs(cosine) > 1:
            return SunTimes(sunrise=rise, sunset=fall, day_length_h=0.0 if cosine > 1 else 24.0)
        return SunTimes(sunrise=rise, sunset=fall, day_length_h=round(math.degrees(math.acos(cosine)) / 7.5, 4))
    length_s = (fall - rise).total_seconds() % 86400
    return SunTimes(sunrise=rise, sunset=fall, day_length_h=round(length_s / 3600, 4))


def _event_on(place: Place, on: date, zone: ZoneInfo, *, is_rise: bool) -> datetime | None:
    """The event whose local date is ``on``; its UTC date may be a day off."""
    for shift in (0, -1, 1):
        found = _event_near(place, on + timedelta(days=shift), is_rise=is_rise)
        if found is not None and found.astimezone(zone).date() == on:
            return _to_second(found.astimezone(zone))
    return None


def _event_near(place: Place, utc_day: date, *, is_rise: bool) -> datetime | None:
    midnight = datetime(utc_day.year, utc_day.month, utc_day.day, tzinfo=UTC)
    minutes = 720.0 - 4 * place.longitude_deg
    for _ in range(4):
        declination, equation_min = _declination_and_equation(_julian_day(midnight + timedelta(minutes=minutes)))
        cosine = _hour_angle_cosine(place.latitude_deg, declination)
        if abs(cosine) > 1:
            return None
        angle = math.degrees(math.acos(cosine))
        minutes = 720 - 4 * (place.longitude_deg + (angle if is_rise else -angle)) - equation_min
    return midnight + timedelta(minutes=minutes)


def _hour_angle_cosine(latitude_deg: float, declination: float) -> float:
    latitude = math.radians(min(89.99, max(-89.99, latitude_deg)))
    return math.cos(math.radians(ZENITH_AT_SUNRISE_DEG)) / (math.cos(latitude) * math.cos(declination)) - math.tan(
        latitude
    ) * math.tan(declination)


def _declination_and_equation(julian_day: float) -> tuple[float, float]:
    """Declination [rad] and equation of time [min]."""
    t = (julian_day - 2451545) / 36525
    mean_longitude = math.radians(280.46646 + t * (36000.76983 + 0.0003032 * t))
    anomaly = math.radians(357.52911 + t * (35999.05029 - 0.0001537 * t))
    eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    centre_deg = (
        (1.914602 - t * (0.004817 + 0.000014 * t)) * math.sin(anomaly)
        + (0.019993 - 0.000101 * t) * math.sin(2 * anomaly)
        + 0.000289 * math.sin(3 * anomaly)
    )
    node = math.radians(125.04 - 1934.136 * t)
    longitude = math.radians(math.degrees(mean_longitude) + centre_deg - 0.00569 - 0.00478 * math.sin(node))
    seconds = 21.448 - t * (46.815 + t * (0.00059 - 0.001813 * t))
    obliquity = math.radians(23 + (26 + seconds / 60) / 60 + 0.00256 * math.cos(node))
    declination = math.asin(math.sin(obliquity) * math.sin(longitude))
    y = math.tan(obliquity / 2) ** 2
    equation = (
        y * math.sin(2 * mean_longitude)
        - 2 * eccentricity * math.sin(anomaly)
        + 4 * eccentricity * y * math.sin(anomaly) * math.cos(2 * mean_longitude)
        - 0.5 * y * y * math.sin(4 * mean_longitude)
        - 1.25 * eccentricity**2 * math.sin(2 * anomaly)
    )
    return declination, 4 * math.degrees(equation)


def _julian_day(instant: datetime) -> float:
    return instant.timestamp() / 86400 + 2440587.5


def _to_second(instant: datetime) -> datetime:
    return (instant + timedelta(microseconds=500_000)).replace(microsecond=0)
