"""Weather stations and their days, as pages and planning read them."""

from __future__ import annotations

from datetime import date

from django.db.models import Count, Max, Min, Q, QuerySet

from gardens.models import DailyWeather, WeatherStation


def stations_for_list() -> QuerySet[WeatherStation]:
    """Stations with the span and number of their measured days, and how many sites they speak for."""
    measured = Q(days__is_forecast=False)
    return WeatherStation.objects.annotate(
        first_day=Min("days__on", filter=measured),
        last_day=Max("days__on", filter=measured),
        day_count=Count("days", filter=measured, distinct=True),
        site_count=Count("sites", distinct=True),
    ).order_by("name", "pk")


def all_stations() -> QuerySet[WeatherStation]:
    return WeatherStation.objects.order_by("name", "pk")


def days_that_count(station: WeatherStation, as_of: date) -> QuerySet[DailyWeather]:
    """Measured days, and forecasts of days to come. A forecast whose day has passed was not measured."""
    return DailyWeather.objects.filter(station=station).exclude(is_forecast=True, on__lt=as_of).order_by("on")


def measured_days(station: WeatherStation) -> QuerySet[DailyWeather]:
    return DailyWeather.objects.filter(station=station, is_forecast=False).order_by("on")
