"""What a site's own sightings teach: its trees bloom earlier or later than the species does on the whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from gardens.climate.estimate import estimated_normals
from gardens.climate.phenology import OverlapBloom, SpeciesPhenology
from gardens.climate.season_weather import season_weather
from gardens.climate.seasons import Season
from gardens.climate.values import DailyWeather, MonthlyNormals, Place

PRIOR_SIGHTINGS = 3.0
"""The species' own figure weighs as much as three sightings: program default."""
LEAST_COVERED = 0.8


@dataclass(frozen=True, kw_only=True)
class Learned:
    """A species' phenology moved by a site's sightings, and what moved it.

    ``used`` are the seasons whose weather covers the time to bloom; ``left_out`` the others. ``shift_gdh`` is the
    change of the heat to full bloom.
    """

    phenology: SpeciesPhenology
    shift_gdh: float
    used: tuple[int, ...]
    left_out: tuple[int, ...]


def learned_phenology(
    place: Place,
    phenology: SpeciesPhenology,
    blooms: Mapping[int, date],
    weather: Sequence[DailyWeather],
    normals: MonthlyNormals | None = None,
) -> Learned:
    """The species' phenology at a site after its observed full blooms, by season year.

    On each observed day the heat that was needed is GDH − extra · exp(−fading · chill); the new figure is the mean of
    these and of the species' own, which weighs as three sightings. Only the overlap model learns; others come back as
    they are. Seasons whose weather covers less than four fifths of the days from the start of chill to bloom are left out.
    """
    growth = phenology.growth
    if not isinstance(growth, OverlapBloom):
        return Learned(phenology=phenology, shift_gdh=0.0, used=(), left_out=tuple(sorted(blooms)))
    found: dict[int, float] = {}
    for year, on in sorted(blooms.items()):
        season = Season(year, place.is_southern)
        years = season_weather(place.latitude_deg, season, weather, normals or estimated_normals(place))
        begin, bloom = years.index(season.chill_from), years.index(on)
        if not season.heat_from <= on <= season.midsummer or years.is_known[begin : bloom + 1].mean() < LEAST_COVERED:
            continue
        chill = years.chill_sum[:, bloom] + growth.ice_day_portions * years.ice_days[:, bloom]
        needed = years.heat_sum[:, bloom] - growth.extra_gdh * np.exp(-growth.fading * chill)
        found[year] = float(np.median(needed))
    shift = sum(needed - growth.warmth_gdh for needed in found.values()) / (len(found) + PRIOR_SIGHTINGS)
    moved = replace(phenology, growth=replace(growth, warmth_gdh=growth.warmth_gdh + shift))
    return Learned(
        phenology=moved,
        shift_gdh=round(shift, 1),
        used=tuple(found),
        left_out=tuple(year for year in sorted(blooms) if year not in found),
    )
