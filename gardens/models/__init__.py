"""What grows where. Imports inside this package run sites < supports < trees < records; weather stands alone."""

from gardens.models.photos import Photo
from gardens.models.records import Record
from gardens.models.sites import Site
from gardens.models.supports import Support, Wire
from gardens.models.trees import Tree
from gardens.models.weather import DailyWeather, WeatherStation

__all__ = ["DailyWeather", "Photo", "Record", "Site", "Support", "Tree", "WeatherStation", "Wire"]
