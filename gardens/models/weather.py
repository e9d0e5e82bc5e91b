"""Weather as it was measured, by station and day."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class WeatherStation(models.Model):
    """Where daily weather is measured, with its usual monthly values."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    latitude_deg = models.FloatField()
    longitude_deg = models.FloatField()
    elevation_m = models.FloatField(default=0)
    normal_tmin_c = models.JSONField(default=list, blank=True, help_text="Twelve mean daily minima, January first.")
    normal_tmax_c = models.JSONField(default=list, blank=True, help_text="Twelve mean daily maxima, January first.")
    normal_rain_mm = models.JSONField(default=list, blank=True, help_text="Twelve mean monthly rains, or empty.")

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(latitude_deg__gte=-90, latitude_deg__lte=90), name="station_latitude_on_earth"
            ),
            models.CheckConstraint(
                condition=Q(longitude_deg__gte=-180, longitude_deg__lte=180), name="station_longitude_on_earth"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class DailyWeather(models.Model):
    """One day at one station. A missing day has no row; it is counted, never invented.

    A forecast gives way to what is measured; one whose day has passed without a measurement counts as missing.
    """

    station = models.ForeignKey(WeatherStation, on_delete=models.CASCADE, related_name="days")
    on = models.DateField()
    tmin_c = models.FloatField()
    tmax_c = models.FloatField()
    rain_mm = models.FloatField(null=True, blank=True)
    is_forecast = models.BooleanField(default=False)

    class Meta:
        ordering = ["station", "on"]
        constraints = [
            # Serves the season's weather of a station too, as its index.
            models.UniqueConstraint(fields=["station", "on"], name="one_weather_row_per_station_and_day"),
            models.CheckConstraint(condition=Q(tmin_c__lte=F("tmax_c")), name="minimum_not_above_maximum"),
            models.CheckConstraint(condition=Q(rain_mm=None) | Q(rain_mm__gte=0), name="rain_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.station} {self.on}"
