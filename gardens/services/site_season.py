"""The year at a site: its weather, its normals, what was seen there, and the stage dates that follow."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from gardens.climate import (
    DailyWeather,
    Learned,
    MonthlyNormals,
    Season,
    SeasonWeather,
    StageDate,
    SumName,
    at_height,
    climate_profile,
    degree_hour_bases,
    estimated_normals,
    learned_phenology,
    phenology_of,
    reckon_together,
    season_weather,
    season_year,
    stage_dates,
    stages_in,
    with_warmth,
)
from gardens.models import Record, Site, WeatherStation
from gardens.queries.trees import standing_records
from gardens.queries.weather import days_that_count

MEAN_LAPSE_C_PER_M = 0.0065
"""Fall of the air's temperature with height: 6.5 °C per km (ICAO standard atmosphere)."""

STATION_STEP_M = 25
"""Heights of sites are grouped in steps: 25 m are 0.16 °C, well inside what a station is worth for a garden."""

LATITUDE_STEP_DEG = 0.5
"""Latitudes are grouped too: at most 28 km off, which is three minutes of day length at midsummer in Britain."""

BOOK_SUMS: tuple[SumName, ...] = ("chill", "winter", "heat")


@dataclass(frozen=True)
class StationWeather:
    """A station's days and normals, brought to a height."""

    days: tuple[DailyWeather, ...] = ()
    normals: MonthlyNormals | None = None


@dataclass(frozen=True)
class _Climate:
    """What decides the stage dates at a site besides its own sightings; equal for gardens that cannot be told apart."""

    station_id: int | None
    step: int
    latitude_deg: float
    normals: MonthlyNormals


@dataclass
class SeasonBook:
    """Answers about seasons at sites; keeps what it worked out, so that a plan of many sites reads each thing once.

    For many sites call `prepare` first: it reckons the winters of all their climates together, which takes a fraction
    of the time of one after the other.
    """

    as_of: date
    _days: dict[tuple[int, int], tuple[_Row, ...]] = field(default_factory=dict)
    _brought: dict[tuple[int, int, tuple[int, ...]], tuple[DailyWeather, ...]] = field(default_factory=dict)
    _normals: dict[tuple[int, int], MonthlyNormals | None] = field(default_factory=dict)
    _climates: dict[int, _Climate] = field(default_factory=dict)
    _seasons: dict[tuple[_Climate, int], SeasonWeather] = field(default_factory=dict)
    _seen: dict[int, dict[str, dict[str, date]]] | None = None
    _learnt: dict[tuple[object, ...], Learned] = field(default_factory=dict)
    _stages: dict[tuple[object, ...], dict[str, StageDate]] = field(default_factory=dict)

    def prepare(self, sites: Iterable[Site], year: int) -> None:
        """Reckon the season at all these sites together; what they ask for afterwards is there, without a query."""
        sites = list(sites)
        for site in sites:
            for species in self._sightings_of(site):
                self._brought_days(site, tuple(sorted(self._blooms_before(site, species, year))))
        reckon_together([self._season(site, year) for site in sites], (*BOOK_SUMS, *degree_hour_bases()))

    def stages(self, site: Site, species: str, year: int, cultivar: str = "") -> Mapping[str, StageDate]:
        """Stage dates of one species at one site in one season; the same object for sites that share them.

        A cultivar known to bloom early or late has its own.
        """
        own = phenology_of(species, cultivar=cultivar)
        sort = cultivar.casefold() if own is not phenology_of(species) else ""
        seen = self._observed(site, species, year)
        blooms = self._blooms_before(site, species, year)
        told = tuple(sorted(seen.items())), tuple(sorted(blooms.items()))
        key = (self._climate(site), species, sort, year, told)
        if key not in self._stages:
            # What the site's blooms teach is of the species on the whole; a sort's own lead is kept beside it.
            learnt = self._learned(site, species, blooms)
            phenology = with_warmth(own, learnt.shift_gdh) if learnt.used else own
            self._stages[key] = stages_in(self._season(site, year), phenology, seen, self.as_of)
        return self._stages[key]

    def usual_stages(self, site: Site, species: str, year: int) -> Mapping[str, StageDate]:
        """The same from the usual weather alone: what this year is measured against."""
        return stage_dates(site.place, phenology_of(species), year, normals=self.normals(site), as_of=self.as_of)

    def learned(self, site: Site, species: str, year: int) -> Learned:
        """What the full blooms seen here in earlier seasons teach about this one."""
        return self._learned(site, species, self._blooms_before(site, species, year))

    def _learned(self, site: Site, species: str, blooms: Mapping[int, date]) -> Learned:
        phenology = phenology_of(species)
        weather = self._brought_days(site, tuple(sorted(blooms))) if blooms else ()
        if not weather:
            return Learned(phenology=phenology, shift_gdh=0.0, used=(), left_out=tuple(sorted(blooms)))
        key = (self._climate(site), species, tuple(sorted(blooms.items())))
        if key not in self._learnt:
            self._learnt[key] = learned_phenology(site.place, phenology, blooms, weather, self.normals(site))
        return self._learnt[key]

    def weather(self, site: Site, year: int) -> StationWeather:
        """The days of one season and the normals of the site's station, brought to its height."""
        return StationWeather(days=self._brought_days(site, (year,)), normals=self._station_normals(site))

    def year_of(self, site: Site, on: date) -> int:
        """The season a day at this site belongs to."""
        return season_year(on, is_southern=site.place.is_southern)

    def normals(self, site: Site) -> MonthlyNormals:
        """The usual monthly values at a site: its station's, else those of the nearest known places."""
        return self._climate(site).normals

    def _climate(self, site: Site) -> _Climate:
        found = self._climates.get(site.pk)
        if found is None:
            found = self._climates[site.pk] = _Climate(
                station_id=site.station_id,
                step=_step(site),
                latitude_deg=round(site.latitude_deg / LATITUDE_STEP_DEG) * LATITUDE_STEP_DEG
                or math.copysign(LATITUDE_STEP_DEG / 10, site.latitude_deg),
                normals=self._station_normals(site) or estimated_normals(site.place),
            )
        return found

    def _season(self, site: Site, year: int) -> SeasonWeather:
        """The season's weather in the site's climate."""
        climate = self._climate(site)
        if (climate, year) not in self._seasons:
            self._seasons[climate, year] = season_weather(
                climate.latitude_deg,
                Season(year, site.place.is_southern),
                self._brought_days(site, (year,)),
                climate.normals,
                self.as_of,
            )
        return self._seasons[climate, year]

    def _blooms_before(self, site: Site, species: str, year: int) -> dict[int, date]:
        """The first full bloom seen in each earlier season, by season."""
        blooms: dict[int, date] = {}
        for stage_on, on in self._sightings_at(site, species).items():
            season = self.year_of(site, on)
            if stage_on.startswith("full_bloom|") and season < year:
                blooms[season] = min(on, blooms.get(season, on))
        return blooms

    def _observed(self, site: Site, species: str, year: int) -> dict[str, date]:
        """Stages of a species seen at a site in a season; the first sighting counts."""
        sightings = self._sightings_at(site, species)
        if not sightings:
            return {}
        span = Season(year, site.place.is_southern)
        seen: dict[str, date] = {}
        for stage_on, on in sightings.items():
            stage = stage_on.split("|")[0]
            if span.starts <= on <= span.ends and on < seen.get(stage, date.max):
                seen[stage] = on
        return seen

    def _sightings_at(self, site: Site, species: str) -> Mapping[str, date]:
        return self._sightings_of(site).get(species, {})

    def _sightings_of(self, site: Site) -> Mapping[str, Mapping[str, date]]:
        if self._seen is None:
            self._seen = _sightings()
        return self._seen.get(site.pk, {})

    def _station_normals(self, site: Site) -> MonthlyNormals | None:
        if site.station_id is None or site.station is None:
            return None
        key = (site.station_id, _step(site))
        if key not in self._normals:
            self._normals[key] = station_normals(site)
        return self._normals[key]

    def _brought_days(self, site: Site, years: tuple[int, ...]) -> tuple[DailyWeather, ...]:
        """The measured and forecast days of some seasons, by the mean fall of temperature with height."""
        station = site.station
        if site.station_id is None or station is None:
            return ()
        key = (site.station_id, _step(site), (*years, -1) if site.place.is_southern else years)
        if key not in self._brought:
            shift = (station.elevation_m - _step(site) * STATION_STEP_M) * MEAN_LAPSE_C_PER_M
            rows = [row for year in years for row in self._rows(station, Season(year, site.place.is_southern))]
            self._brought[key] = tuple(
                DailyWeather(on=on, tmin_c=low + shift, tmax_c=high + shift, rain_mm=rain)
                for on, low, high, rain in dict.fromkeys(rows)
            )
        return self._brought[key]

    def _rows(self, station: WeatherStation, season: Season) -> tuple[_Row, ...]:
        """The days of one season at a station as they stand in its rows, read once."""
        key = (station.pk, -season.year if season.is_southern else season.year)
        if key not in self._days:
            rows = days_that_count(station, self.as_of).filter(
                on__gte=season.starts - timedelta(days=1), on__lte=season.ends
            )
            self._days[key] = tuple(rows.values_list("on", "tmin_c", "tmax_c", "rain_mm"))
        return self._days[key]


_Row = tuple[date, float, float, float | None]


def _step(site: Site) -> int:
    """The height class of a site."""
    return round(site.elevation_m / STATION_STEP_M)


@dataclass(frozen=True, kw_only=True)
class SiteProfile:
    """The climate profile of a site, who said so, and the figures behind a derived one."""

    profile: str
    said_by: Literal["site", "business", "weather"]
    why: str = ""
    source: str = ""


def site_profile(site: Site, fallback: str) -> SiteProfile:
    """The site's own profile, else that of the business, else the one its usual weather makes."""
    if site.climate_profile:
        return SiteProfile(profile=site.climate_profile, said_by="site")
    if fallback:
        return SiteProfile(profile=fallback, said_by="business")
    found = climate_profile(site.place, station_normals(site))
    return SiteProfile(profile=found.profile, said_by="weather", why=found.why, source=found.source)


def climate_profile_of(site: Site, fallback: str) -> str:
    """Which of the three sets of rules holds at a site."""
    return site_profile(site, fallback).profile


def station_normals(site: Site) -> MonthlyNormals | None:
    """The usual monthly values of the site's station brought to its height; None where it has none."""
    if site.station_id is None or site.station is None:
        return None
    return _normals_at(site.station, height_m=_step(site) * STATION_STEP_M)


def _sightings() -> dict[int, dict[str, dict[str, date]]]:
    """Site → species → "stage|record" → day, of every stage ever seen."""
    found: dict[int, dict[str, dict[str, date]]] = defaultdict(lambda: defaultdict(dict))
    rows = (
        standing_records()
        .filter(kind=Record.Kind.SEEN, what="stage", tree__isnull=False)
        .values_list("pk", "tree__site_id", "tree__species", "text", "on")
    )
    for pk, site_id, species, stage, on in rows:
        found[site_id][species][f"{stage}|{pk}"] = on
    return found


def _normals_at(station: WeatherStation, *, height_m: float) -> MonthlyNormals | None:
    if not (station.normal_tmin_c and station.normal_tmax_c):
        return None
    own = MonthlyNormals(
        tmin_c=tuple(station.normal_tmin_c),
        tmax_c=tuple(station.normal_tmax_c),
        rain_mm=tuple(station.normal_rain_mm),
    )
    return at_height(own, from_m=station.elevation_m, to_m=height_m)
