"""What grows where. Imports inside this package run sites < supports < trees < records; rules, practice and weather stand alone."""

from gardens.models.photos import Photo
from gardens.models.practice import HousePractice
from gardens.models.records import Record
from gardens.models.rules import RuleOverride
from gardens.models.sites import Site
from gardens.models.supports import Support, Wire
from gardens.models.trees import Tree
from gardens.models.weather import DailyWeather, WeatherStation

__all__ = [
    "DailyWeather",
    "HousePractice",
    "Photo",
    "Record",
    "RuleOverride",
    "Site",
    "Support",
    "Tree",
    "WeatherStation",
    "Wire",
]
