"""When to look for pests: degree-days from bloom or from the start of the year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from pydantic import Field

from business.errors import BadInput, Fault
from gardens.climate.estimate import estimated_normals
from gardens.climate.heat import degree_days_sine
from gardens.climate.phenology import SpeciesPhenology
from gardens.climate.season_weather import season_weather
from gardens.climate.seasons import Season
from gardens.climate.tables import Row, read_table, shipped_text
from gardens.climate.values import STAGES, Basis, DailyWeather, MonthlyNormals, Place, StageDate

FILE = "inspections.toml"
FROM_START = "heat_season"
NORTH_AMERICA_DEG = (-170.0, -50.0)
TENTH_SD = 1.2816


class _Event(Row):
    pest: str
    name: str
    groups: tuple[str, ...]
    regions: tuple[str, ...] = ()
    from_: str = Field(alias="from")
    dd_c: float = Field(ge=0)
    plus_minus_dd_c: float = Field(ge=0)
    do: str
    source: str


class _File(Row):
    base_c: float
    cap_c: float
    sources: dict[str, str]
    event: tuple[_Event, ...]


@dataclass(frozen=True, kw_only=True)
class InspectionDate:
    """When an event of a pest is due at a site, with the outer tenths, what to do, and whose figure it is."""

    pest: str
    event: str
    on: date
    earliest: date
    latest: date
    basis: Basis
    do: str
    source: str


def read_inspections(text: str, file: str = FILE) -> _File:
    """The table in ``text``.

    Raises:
        BadInput: with every fault, each naming file and event.
    """
    parsed = read_table(_File, text, file)
    faults = []
    for event in parsed.event:
        where = f"{file}, {event.pest}, {event.name}"
        if event.from_ != FROM_START and event.from_ not in STAGES:
            faults.append(Fault(where, f"{event.from_!r} is not a stage", f"use {FROM_START} or a stage"))
        if event.source not in parsed.sources:
            faults.append(Fault(where, f"source {event.source!r} is not listed", "add it under [sources]"))
    if faults:
        raise BadInput(faults)
    return parsed


@lru_cache(maxsize=1)
def _shipped() -> _File:
    return read_inspections(shipped_text(FILE))


def inspection_dates(  # noqa: PLR0913 - the same question as stage_dates, asked of pests
    place: Place,
    phenology: SpeciesPhenology,
    stages: Mapping[str, StageDate],
    season_year: int,
    weather: Sequence[DailyWeather] = (),
    normals: MonthlyNormals | None = None,
    caught: Mapping[str, date] | None = None,
) -> tuple[InspectionDate, ...]:
    """The inspections a tree is due in a season, in order of time.

    ``stages`` are those of `stage_dates`; ``caught`` gives the day of the first catch by pest, which replaces the
    biofix. Events that the year is too cool for are left out.
    """
    table = _shipped()
    season = Season(season_year, place.is_southern)
    years = season_weather(place.latitude_deg, season, weather, normals or estimated_normals(place))
    daily = degree_days_sine(years.tmin_c, years.tmax_c, table.base_c, table.cap_c)
    is_american = NORTH_AMERICA_DEG[0] <= place.longitude_deg <= NORTH_AMERICA_DEG[1] and not place.is_southern
    found = []
    for event in table.event:
        if phenology.group not in event.groups or (event.regions and not is_american):
            continue
        start = _start(event, season, stages, caught or {})
        if start is None:
            continue
        begin = years.index(start)
        sums = np.where(np.arange(daily.shape[1]) >= begin, daily, 0.0).cumsum(axis=1)
        margin = TENTH_SD * event.plus_minus_dd_c
        days = [_day(sums, need, begin) for need in (event.dd_c - margin, event.dd_c, event.dd_c + margin)]
        if any(day is None for day in days):
            continue
        early, middle, late = (day for day in days if day is not None)
        found.append(
            InspectionDate(
                pest=event.pest,
                event=event.name,
                on=years.day(middle),
                earliest=years.day(early),
                latest=years.day(late),
                basis="weather" if years.last_known > begin else "normals",
                do=event.do,
                source=table.sources[event.source],
            )
        )
    return tuple(sorted(found, key=lambda dated: (dated.on, dated.pest)))


def _start(event: _Event, season: Season, stages: Mapping[str, StageDate], caught: Mapping[str, date]) -> date | None:
    if event.from_ == FROM_START:
        return season.heat_from
    if event.pest in caught:
        return caught[event.pest]
    return stages[event.from_].on if event.from_ in stages else None


def _day(sums: np.ndarray, need: float, begin: int) -> float | None:
    """Middle day on which the sum is reached, None where most years never reach it."""
    is_reached = sums >= max(need, 1e-9) if need > 0 else np.arange(sums.shape[1])[None, :] >= begin
    is_reached = np.broadcast_to(is_reached, sums.shape)
    if is_reached.any(axis=1).mean() < 0.5:
        return None
    days = np.where(is_reached.any(axis=1), is_reached.argmax(axis=1), np.nan)
    return float(np.nanmedian(days))
