"""How long the year takes: thirty years of hourly chill and heat, and the stages of many sites.

    python -m tests.benchmarks.chill [--years N] [--sites N]

prints one JSON line: seconds of processor time and wall time for each part.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable
from datetime import date, timedelta

import numpy as np

from gardens.climate import (
    DailyWeather,
    MonthlyNormals,
    Place,
    Reading,
    Readings,
    at_height,
    chill_portions,
    chilling_hours,
    growing_degree_hours,
    hourly_series,
    phenology_of,
    stage_dates,
    utah_units,
)
from gardens.climate.normals import possible_years

NORMALS = MonthlyNormals(
    tmin_c=(2.7, 2.8, 4.1, 6.1, 9.1, 12.1, 14.2, 14.1, 11.6, 8.8, 5.3, 3.1),
    tmax_c=(8.4, 9.0, 11.7, 15.0, 18.4, 21.6, 23.9, 23.4, 20.2, 15.8, 11.5, 8.8),
)
SPECIES = ("apple_spur", "pear_european", "peach", "plum_european", "cherry_sweet", "fig", "grape")


def record(years: int) -> Readings:
    """A made-up record with the weather noise of real years."""
    first = date(1991, 9, 1)
    days = (date(1991 + years, 9, 1) - first).days
    low, high = possible_years(NORMALS, first, days)
    return Readings(
        readings=tuple(
            Reading(on=first + timedelta(days=step), tmin_c=float(low[0, step]), tmax_c=float(high[0, step]))
            for step in range(days)
        )
    )


def chill_of(readings: Readings, years: int) -> float:
    """Hourly temperatures of the whole record, then chill by three methods and heat, season by season."""
    series = hourly_series(readings, 51.5)
    total = 0.0
    for year in range(years):
        span = series.between(date(1991 + year, 9, 1), date(1992 + year, 8, 31))
        if span is None:
            continue
        hours = series.hourly_c[span].reshape(-1)
        for measure in (chill_portions, chilling_hours, utah_units, growing_degree_hours):
            total += float(np.sum(measure(hours)))
    return total


def stages_of(sites: int, weather: tuple[DailyWeather, ...]) -> int:
    """Every stage of seven species at many sites: one station, heights in steps of 25 m, latitudes within a degree."""
    found = 0
    for site in range(sites):
        normals = at_height(NORMALS, from_m=0, to_m=25 * (site % 8))
        place = Place(latitude_deg=51.0 + (site % 50) / 50, longitude_deg=0.0)
        for species in SPECIES:
            found += len(stage_dates(place, phenology_of(species), 2021, weather, normals))
    return found


def timed(work: Callable[[], object]) -> dict[str, float]:
    """Seconds of a piece of work."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return {
        "wall_s": round(time.perf_counter() - wall, 3),
        "processor_s": round(time.process_time() - processor, 3),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--years", type=int, default=30)
    parser.add_argument("--sites", type=int, default=1500)
    chosen = parser.parse_args()
    readings = record(chosen.years)
    weather = tuple(day for day in readings.days if date(2020, 7, 1) <= day.on <= date(2021, 3, 1))
    answer = {
        "years": chosen.years,
        "hours": len(readings.readings) * 24,
        "hourly_chill_series": timed(lambda: chill_of(readings, chosen.years)),
        "sites": chosen.sites,
        "stages_from_normals": timed(lambda: stages_of(chosen.sites, ())),
        "stages_from_weather": timed(lambda: stages_of(chosen.sites, weather)),
    }
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
