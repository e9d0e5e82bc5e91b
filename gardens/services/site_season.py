"""The year at a site: its weather, its normals, what was seen there, and the stage dates that follow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from gardens.climate import (
    DailyWeather,
    Learned,
    MonthlyNormals,
    Season,
    StageDate,
    at_height,
    climate_profile,
    estimated_normals,
    learned_phenology,
    phenology_of,
    season_year,
    stage_dates,
)
from gardens.models import Record, Site, WeatherStation
from gardens.queries.trees import standing_records
from gardens.queries.weather import days_that_count

MEAN_LAPSE_C_PER_M = 0.0065
"""Fall of the air's temperature with height: 6.5 °C per km (ICAO standard atmosphere)."""

STATION_STEP_M = 25
"""Heights of sites are grouped in steps: 25 m are 0.16 °C, well inside what a station is worth for a garden."""


@dataclass(frozen=True)
class StationWeather:
    """A station's days and normals, brought to a height."""

    days: tuple[DailyWeather, ...] = ()
    normals: MonthlyNormals | None = None


@dataclass
class SeasonBook:
    """Answers about seasons at sites; keeps what it worked out, so that a plan of many sites reads each thing once."""

    as_of: date
    _stations: dict[tuple[int, int], StationWeather] = field(default_factory=dict)
    _seen: dict[int, dict[str, dict[str, date]]] | None = None
    _stages: dict[tuple[object, ...], dict[str, StageDate]] = field(default_factory=dict)

    def stages(self, site: Site, species: str, year: int) -> Mapping[str, StageDate]:
        """Stage dates of one species at one site in one season."""
        seen = self._observed(site, year).get(species, {})
        step = round(site.elevation_m / STATION_STEP_M)
        # A tenth of a degree of latitude is 11 km: no difference in day length that matters here.
        where = (site.station_id, step, round(site.latitude_deg, 1), round(site.longitude_deg, 1))
        blooms = self._blooms_before(site, species, year)
        key = (*where, species, year, tuple(sorted(seen.items())), tuple(sorted(blooms.items())))
        if key not in self._stages:
            weather = self.weather(site)
            self._stages[key] = stage_dates(
                site.place,
                self._learned(site, species, blooms).phenology,
                year,
                weather=weather.days,
                normals=weather.normals,
                observed=seen,
                as_of=self.as_of,
            )
        return self._stages[key]

    def usual_stages(self, site: Site, species: str, year: int) -> Mapping[str, StageDate]:
        """The same from the usual weather alone: what this year is measured against."""
        return stage_dates(site.place, phenology_of(species), year, normals=self.normals(site), as_of=self.as_of)

    def learned(self, site: Site, species: str, year: int) -> Learned:
        """What the full blooms seen here in earlier seasons teach about this one."""
        return self._learned(site, species, self._blooms_before(site, species, year))

    def _learned(self, site: Site, species: str, blooms: Mapping[int, date]) -> Learned:
        phenology, weather = phenology_of(species), self.weather(site)
        if not blooms or not weather.days:
            return Learned(phenology=phenology, shift_gdh=0.0, used=(), left_out=tuple(sorted(blooms)))
        return learned_phenology(site.place, phenology, blooms, weather.days, weather.normals)

    def weather(self, site: Site) -> StationWeather:
        """The days and normals of the site's station, brought to its height."""
        return self._station_weather(site, round(site.elevation_m / STATION_STEP_M))

    def year_of(self, site: Site, on: date) -> int:
        """The season a day at this site belongs to."""
        return season_year(on, is_southern=site.place.is_southern)

    def normals(self, site: Site) -> MonthlyNormals:
        """The usual monthly values at a site: its station's, else those of the nearest known places."""
        return self.weather(site).normals or estimated_normals(site.place)

    def _blooms_before(self, site: Site, species: str, year: int) -> dict[int, date]:
        """The first full bloom seen in each earlier season, by season."""
        if self._seen is None:
            self._seen = _sightings()
        blooms: dict[int, date] = {}
        for stage_on, on in self._seen.get(site.pk, {}).get(species, {}).items():
            season = self.year_of(site, on)
            if stage_on.startswith("full_bloom|") and season < year:
                blooms[season] = min(on, blooms.get(season, on))
        return blooms

    def _observed(self, site: Site, year: int) -> dict[str, dict[str, date]]:
        """Stages seen at a site in a season, by species; the first sighting counts."""
        if self._seen is None:
            self._seen = _sightings()
        span = Season(year, site.place.is_southern)
        seen: dict[str, dict[str, date]] = defaultdict(dict)
        for species, stages in self._seen.get(site.pk, {}).items():
            for stage_on, on in stages.items():
                stage = stage_on.split("|")[0]
                if span.starts <= on <= span.ends and on < seen[species].get(stage, date.max):
                    seen[species][stage] = on
        return seen

    def _station_weather(self, site: Site, step: int) -> StationWeather:
        if site.station_id is None or site.station is None:
            return StationWeather()
        key = (site.station_id, step)
        if key not in self._stations:
            self._stations[key] = _brought_to(site.station, height_m=step * STATION_STEP_M, as_of=self.as_of)
        return self._stations[key]


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
    return _normals_at(site.station, height_m=round(site.elevation_m / STATION_STEP_M) * STATION_STEP_M)


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


def _brought_to(station: WeatherStation, *, height_m: float, as_of: date) -> StationWeather:
    """The station's days and normals at another height, by the mean fall of temperature with height."""
    shift = (station.elevation_m - height_m) * MEAN_LAPSE_C_PER_M
    rows = days_that_count(station, as_of).values_list("on", "tmin_c", "tmax_c", "rain_mm")
    days = tuple(
        DailyWeather(on=on, tmin_c=tmin + shift, tmax_c=tmax + shift, rain_mm=rain) for on, tmin, tmax, rain in rows
    )
    return StationWeather(days=days, normals=_normals_at(station, height_m=height_m))


def _normals_at(station: WeatherStation, *, height_m: float) -> MonthlyNormals | None:
    if not (station.normal_tmin_c and station.normal_tmax_c):
        return None
    own = MonthlyNormals(
        tmin_c=tuple(station.normal_tmin_c),
        tmax_c=tuple(station.normal_tmax_c),
        rain_mm=tuple(station.normal_rain_mm),
    )
    return at_height(own, from_m=station.elevation_m, to_m=height_m)
