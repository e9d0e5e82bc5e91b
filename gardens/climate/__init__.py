"""Weather and the year of a site: day length, chill and heat, frost, water, and the dates of a tree's stages.

Start with `stage_dates(place, phenology_of(species), season_year, …)`. For many trees, prepare `season_weather` once
for each climate and ask `stages_in` for each species. Weather files are read by `read_weather`, gates of the day are
asked with `ask_gate`, frosts on open buds with `frost_risks`. Everything is pure: dates and weather are arguments.
"""

from gardens.climate.buds import (
    CriticalTemperatures,
    FrostRisk,
    critical_temperatures,
    frost_risks,
    is_full_crop_possible,
    surviving,
)
from gardens.climate.chart import Curve, SeasonChart, season_chart
from gardens.climate.chill import chill_portions, chilling_hours, positive_utah_units, utah_units
from gardens.climate.daylight import SunTimes, day_length_hours, sun_times
from gardens.climate.estimate import estimated_normals
from gardens.climate.frost import (
    FrostDates,
    FrostOdds,
    chance_of_frost_after,
    first_frost_odds,
    frost_dates,
    last_frost_odds,
    season_frosts,
)
from gardens.climate.gates import GateAnswer, ask_gate, shipped_gates, usual_rain_mm_per_week, wet_season_starts
from gardens.climate.heat import (
    degree_days_average,
    degree_days_capped,
    degree_days_modified,
    degree_days_sine,
    degree_days_triangle,
    growing_degree_hours,
    linear_degree_hours,
)
from gardens.climate.hourly import hourly_temperatures
from gardens.climate.inspections import InspectionDate, inspection_dates
from gardens.climate.learning import Learned, learned_phenology
from gardens.climate.normals import at_height, daily_normals, normals_from_weather
from gardens.climate.outlook import Spell, WatchedTree, WeatherWarning, spells, weather_warnings
from gardens.climate.phenology import SpeciesPhenology, with_warmth
from gardens.climate.phenology_table import degree_hour_bases, phenology_of
from gardens.climate.plausible import FileChoices
from gardens.climate.profile import PROFILES, Profile, ProfileFinding, climate_profile
from gardens.climate.readings import Gap, Reading, Readings, Station, gap_report
from gardens.climate.report import SpanQuestion, read_question, remarks, summary_as_dict, summary_as_text
from gardens.climate.season_weather import SeasonWeather, SumName, reckon_together, season_weather
from gardens.climate.seasons import Season, season_year
from gardens.climate.stages import NEXT_LEAF_FALL, stage_dates, stages_in
from gardens.climate.stations import StationChoice, brought_to_height, nearest_station, rank_stations
from gardens.climate.summary import ClimateSummary, HourlySeries, hourly_series, summarize
from gardens.climate.values import DailyWeather, MonthlyNormals, Place, StageDate
from gardens.climate.walls import days_earlier, on_wall
from gardens.climate.water import ThirstyTree, WaterNeed, reference_evapotranspiration, water_need
from gardens.climate.weather_files import read_weather

__all__ = [
    "NEXT_LEAF_FALL",
    "PROFILES",
    "ClimateSummary",
    "CriticalTemperatures",
    "Curve",
    "DailyWeather",
    "FileChoices",
    "FrostDates",
    "FrostOdds",
    "FrostRisk",
    "Gap",
    "GateAnswer",
    "HourlySeries",
    "InspectionDate",
    "Learned",
    "MonthlyNormals",
    "Place",
    "Profile",
    "ProfileFinding",
    "Reading",
    "Readings",
    "Season",
    "SeasonChart",
    "SeasonWeather",
    "SpanQuestion",
    "SpeciesPhenology",
    "Spell",
    "StageDate",
    "Station",
    "StationChoice",
    "SumName",
    "SunTimes",
    "ThirstyTree",
    "WatchedTree",
    "WaterNeed",
    "WeatherWarning",
    "ask_gate",
    "at_height",
    "brought_to_height",
    "chance_of_frost_after",
    "chill_portions",
    "chilling_hours",
    "climate_profile",
    "critical_temperatures",
    "daily_normals",
    "day_length_hours",
    "days_earlier",
    "degree_days_average",
    "degree_days_capped",
    "degree_days_modified",
    "degree_days_sine",
    "degree_days_triangle",
    "degree_hour_bases",
    "estimated_normals",
    "first_frost_odds",
    "frost_dates",
    "frost_risks",
    "gap_report",
    "growing_degree_hours",
    "hourly_series",
    "hourly_temperatures",
    "inspection_dates",
    "is_full_crop_possible",
    "last_frost_odds",
    "learned_phenology",
    "linear_degree_hours",
    "nearest_station",
    "normals_from_weather",
    "on_wall",
    "phenology_of",
    "positive_utah_units",
    "rank_stations",
    "read_question",
    "read_weather",
    "reckon_together",
    "reference_evapotranspiration",
    "remarks",
    "season_chart",
    "season_frosts",
    "season_weather",
    "season_year",
    "shipped_gates",
    "spells",
    "stage_dates",
    "stages_in",
    "summarize",
    "summary_as_dict",
    "summary_as_text",
    "sun_times",
    "surviving",
    "usual_rain_mm_per_week",
    "utah_units",
    "water_need",
    "weather_warnings",
    "wet_season_starts",
    "with_warmth",
]
