"""Where the sun stands, for the shade of one row on the next. Angles in degrees, north is 0, east 90.

Small on purpose: the climate core knows day lengths and sunrise, and lies on the same floor as this one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import acos, asin, atan2, cos, degrees, radians, sin


@dataclass(frozen=True, kw_only=True)
class Sun:
    """Height above the horizon, without refraction, and bearing. [°]"""

    altitude_deg: float
    bearing_deg: float


def declination_deg(day: date) -> float:
    """Declination of the sun at noon of a day in Greenwich. [°] Within 0.02° from 1950 to 2050.

    Source: low-precision formulas of the sun, Astronomical Almanac, page C5, from memory.
    """
    days = (day - date(2000, 1, 1)).days
    anomaly = radians(357.528 + 0.9856003 * days)
    longitude = radians(280.460 + 0.9856474 * days + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly))
    obliquity = radians(23.439 - 0.0000004 * days)
    return degrees(asin(sin(obliquity) * sin(longitude)))


def sun_at(*, latitude_deg: float, day: date, hours_from_noon: float) -> Sun:
    """The sun at a place, so many hours before (−) or after (+) its highest stand.

    sin α = sin φ·sin δ + cos φ·cos δ·cos H; the bearing from the same triangle.

    Raises:
        ValueError: for a latitude outside −90 … 90 or a time outside −12 … 12.
    """
    if not -90 <= latitude_deg <= 90:
        raise ValueError(f"latitude {latitude_deg} lies outside -90 … 90")
    if not -12 <= hours_from_noon <= 12:
        raise ValueError(f"{hours_from_noon} h from noon lies outside -12 … 12")
    latitude, declination = radians(latitude_deg), radians(declination_deg(day))
    hour = radians(15 * hours_from_noon)
    height = sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(hour)
    east = -cos(declination) * sin(hour)
    north = sin(declination) * cos(latitude) - cos(declination) * sin(latitude) * cos(hour)
    return Sun(altitude_deg=degrees(asin(max(-1.0, min(1.0, height)))), bearing_deg=degrees(atan2(east, north)) % 360)


def half_day_h(*, latitude_deg: float, day: date) -> float:
    """Hours from sunrise to noon, the sun's centre on a flat horizon. [h] 0 in polar night, 12 in polar day."""
    latitude, declination = radians(latitude_deg), radians(declination_deg(day))
    divisor = cos(latitude) * cos(declination)
    if abs(divisor) < 1e-12:
        return 12.0 if latitude * declination > 0 else 0.0
    cosine = -sin(latitude) * sin(declination) / divisor
    return degrees(acos(max(-1.0, min(1.0, cosine)))) / 15
