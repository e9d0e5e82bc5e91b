"""The figures of a span of days: what `manage.py climate` prints."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from business.errors import BadInput, Fault
from gardens.climate.arrays import Floats
from gardens.climate.chill import chill_portions, chilling_hours, utah_units
from gardens.climate.daylight import sun_times
from gardens.climate.frost import frost_dates
from gardens.climate.heat import degree_days_average, growing_degree_hours
from gardens.climate.hourly import hourly_temperatures
from gardens.climate.readings import Gap, Readings, fill_short_gaps
from gardens.climate.values import Place

DEFAULT_BASE_C = 10.0


@dataclass(frozen=True, kw_only=True)
class ClimateSummary:
    """Chill, heat, frost and sun of a span.

    Sums are None where a gap of more than five days lies in the span; ``gaps`` names it. ``missing`` counts the days of
    the span that lack a temperature. Sun values are those of the last day, times in the place's own zone.
    """

    days: int
    missing: int
    chill_hours: float | None
    utah_units: float | None
    chill_portions: float | None
    gdd: float | None
    gdh: float | None
    last_frost: date | None
    first_frost: date | None
    sunrise: datetime | None
    sunset: datetime | None
    day_length_h: float
    gaps: tuple[Gap, ...] = ()


@dataclass(frozen=True, kw_only=True)
class HourlySeries:
    """Hourly temperatures of consecutive days, shape (days, 24), NaN where nothing is known. [°C]"""

    first: date
    tmin_c: Floats
    tmax_c: Floats
    hourly_c: Floats

    def between(self, first: date, last: date) -> slice | None:
        """The days first … last, or None where the series does not hold them all."""
        start, stop = (first - self.first).days, (last - self.first).days + 1
        return slice(start, stop) if start >= 0 and stop <= self.tmin_c.size else None


def hourly_series(readings: Readings, latitude_deg: float) -> HourlySeries:
    """Hourly temperatures of a whole record, gaps of up to five days bridged for each element on its own."""
    first, tmin, tmax = readings.arrays()
    tmin, tmax = fill_short_gaps(tmin), fill_short_gaps(tmax)
    days = np.array([(first + timedelta(days=step)).timetuple().tm_yday for step in range(tmin.size)], dtype=float)
    hourly = hourly_temperatures(latitude_deg, days, tmin, tmax)
    return HourlySeries(first=first, tmin_c=tmin, tmax_c=tmax, hourly_c=hourly)


def summarize(
    readings: Readings, place: Place, first: date, last: date, base_c: float = DEFAULT_BASE_C
) -> ClimateSummary:
    """The figures of first … last. Chill portions begin with an empty store on ``first``.

    Raises:
        BadInput: when the span runs backwards or the record holds no reading.
    """
    if last < first:
        raise BadInput([Fault("until", f"{last} lies before {first}", "give a last day on or after the first")])
    if not readings.readings:
        raise BadInput([Fault("weather", "there are no readings", "bring a file with at least one day")])
    sums = _sums(hourly_series(readings, place.latitude_deg), first, last, base_c)
    frosts = frost_dates(readings.readings, first, last, is_southern=place.is_southern)
    sun = sun_times(place, last)
    return ClimateSummary(
        days=(last - first).days + 1,
        missing=readings.missing(first, last),
        chill_hours=sums.get("chill_hours"),
        utah_units=sums.get("utah_units"),
        chill_portions=sums.get("chill_portions"),
        gdd=sums.get("gdd"),
        gdh=sums.get("gdh"),
        last_frost=frosts.last,
        first_frost=frosts.first,
        sunrise=sun.sunrise,
        sunset=sun.sunset,
        day_length_h=sun.day_length_h,
        gaps=readings.gaps(first, last),
    )


def _sums(series: HourlySeries, first: date, last: date, base_c: float) -> dict[str, float]:
    """The sums of the span; nothing where a day of it stays unknown."""
    span = series.between(first, last)
    if span is None:
        return {}
    hours = series.hourly_c[span].reshape(-1)
    if np.isnan(hours).any():
        return {}
    return {
        "chill_hours": round(float(chilling_hours(hours).sum()), 1),
        "utah_units": round(float(utah_units(hours).sum()), 1),
        "chill_portions": round(float(chill_portions(hours).sum()), 3),
        "gdd": round(float(degree_days_average(series.tmin_c[span], series.tmax_c[span], base_c).sum()), 2),
        "gdh": round(float(growing_degree_hours(hours).sum()), 1),
    }
