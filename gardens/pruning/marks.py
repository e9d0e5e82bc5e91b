"""What a site's usual weather says about its year: its climate profile, its coldest weeks, its dry season."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from gardens.climate.normals import daily_normals
from gardens.climate.values import MonthlyNormals, Place, StageDate
from gardens.knowledge.when import Frame

COLD_JANUARY_MIN_C = -10.0
"""Below this mean January minimum winters are those of the cold continental advice. Source: house default."""
DRY_MONTH_MM = 25.0
"""Rain of a month below which cuts that need six dry weeks may count on staying dry. Source: house default."""
COLDEST_WEEKS_DAYS = 28
PLUS_MINUS_DAYS = 12


def climate_profile(normals: MonthlyNormals, place: Place) -> str:
    """The profile whose advice fits: maritime, continental_cold or mediterranean.

    Mediterranean: the driest month lies in summer, has under 40 mm and under a third of the wettest winter month (the
    dry-summer rule of the Köppen–Geiger classes), and the summer is either warm (mean of the midsummer month 22 °C or
    more) or nearly rainless (under 60 mm in its three months). The last condition keeps the cool, dry-summer coasts of
    the Pacific Northwest with Britain, whose advice they share. Otherwise cold continental where the mean minimum of
    midwinter is under −10 °C, else maritime.
    """
    winter, summer = ((5, 6, 7), (11, 0, 1)) if place.is_southern else ((11, 0, 1), (5, 6, 7))
    if normals.rain_mm and _is_dry_in_summer(normals, winter, summer):
        return "mediterranean"
    midwinter = winter[1]
    return "continental_cold" if normals.tmin_c[midwinter] < COLD_JANUARY_MIN_C else "maritime"


def _is_dry_in_summer(normals: MonthlyNormals, winter: tuple[int, ...], summer: tuple[int, ...]) -> bool:
    rain = normals.rain_mm
    driest = min(rain[month] for month in summer)
    wettest = max(rain[month] for month in winter)
    midsummer = summer[1]
    is_warm = (normals.tmin_c[midsummer] + normals.tmax_c[midsummer]) / 2 >= 22
    is_rainless = sum(rain[month] for month in summer) < 60
    return driest < 40 and driest < wettest / 3 and (is_warm or is_rainless)


def site_marks(normals: MonthlyNormals, place: Place, year: int) -> dict[str, StageDate]:
    """The marks of a tree-year at a site: the end of its coldest four weeks, and where its summers are dry the last
    rain of spring and the first of autumn.

    Args:
        normals: of the site.
        place: decides the half of the world.
        year: the tree-year, named after its bloom.
    """
    frame = Frame(year, place.is_southern)
    marks = {"coldest_end": _coldest_end(normals, frame)}
    if normals.rain_mm and min(normals.rain_mm) < DRY_MONTH_MM:
        dry = _dry_season(normals, frame)
        if dry is not None:
            marks["spring_dry"], marks["autumn_rain"] = dry
    return {name: _mark(name, on) for name, on in marks.items()}


def _coldest_end(normals: MonthlyNormals, frame: Frame) -> date:
    """The last day of the coldest four weeks of the winter that opens the tree-year."""
    first = frame.opens
    tmin, tmax = daily_normals(normals, first, 240)
    mean = (tmin + tmax) / 2
    weeks = np.convolve(mean, np.ones(COLDEST_WEEKS_DAYS) / COLDEST_WEEKS_DAYS, mode="valid")
    return first + timedelta(days=int(np.argmin(weeks)) + COLDEST_WEEKS_DAYS - 1)


def _dry_season(normals: MonthlyNormals, frame: Frame) -> tuple[date, date] | None:
    """Last day before and first day after the dry months of the tree-year, by the line through the months' middles."""
    first = frame.opens + timedelta(days=61)  # turn of the calendar year in the north
    rate = _daily_rain_rate(normals, first)
    driest = int(np.argmin(rate))
    wet_before = np.flatnonzero(rate[:driest] >= DRY_MONTH_MM)
    wet_after = np.flatnonzero(rate[driest:] >= DRY_MONTH_MM)
    if not len(wet_before) or not len(wet_after):
        return None
    return first + timedelta(days=int(wet_before[-1])), first + timedelta(days=driest + int(wet_after[0]))


def _daily_rain_rate(normals: MonthlyNormals, first: date) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Rain on the line through the middles of the months, for a year from ``first``. [mm/month]"""
    middles = [(date(2001, month, 15) - date(2001, 1, 1)).days for month in range(1, 13)]
    nodes = [middles[-1] - 365, *middles, middles[0] + 365]
    rain = [normals.rain_mm[-1], *normals.rain_mm, normals.rain_mm[0]]
    days = [min((first + timedelta(days=step)).timetuple().tm_yday - 1, 364) for step in range(365)]
    return np.interp(days, nodes, rain)


def _mark(name: str, on: date) -> StageDate:
    spread = timedelta(days=PLUS_MINUS_DAYS)
    return StageDate(stage=name, on=on, earliest=on - spread, latest=on + spread, basis="normals")
