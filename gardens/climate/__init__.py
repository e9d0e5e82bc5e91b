"""Weather and the year: day length, chill and heat, frost, the dates of a tree's stages."""

from gardens.climate.estimate import estimated_normals
from gardens.climate.normals import at_height
from gardens.climate.phenology import SpeciesPhenology, with_warmth
from gardens.climate.phenology_table import phenology_of
from gardens.climate.seasons import Season, season_year
from gardens.climate.stages import NEXT_LEAF_FALL, stage_dates, stages_in
from gardens.climate.values import DailyWeather, MonthlyNormals, Place, StageDate

__all__ = [
    "NEXT_LEAF_FALL",
    "DailyWeather",
    "MonthlyNormals",
    "Place",
    "Season",
    "SpeciesPhenology",
    "StageDate",
    "at_height",
    "estimated_normals",
    "phenology_of",
    "season_year",
    "stage_dates",
    "stages_in",
    "with_warmth",
]
