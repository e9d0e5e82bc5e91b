"""The gardens we go to."""

from __future__ import annotations

import calendar
from datetime import date
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q

from gardens.climate.values import Place
from gardens.models.weather import WeatherStation


def known_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(f"{name} is not a time zone; write it as Europe/London")


class Site(models.Model):
    """One garden of one client: where it is, how to get in, what to mind."""

    class Profile(models.TextChoices):
        MARITIME = "maritime", "maritime"
        CONTINENTAL_COLD = "continental_cold", "continental, cold winters"
        MEDITERRANEAN = "mediterranean", "mediterranean"

    client = models.ForeignKey("business.Client", on_delete=models.PROTECT, related_name="sites")
    code = models.SlugField(max_length=40, unique=True, help_text="Short and lasting; import files name it.")
    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    latitude_deg = models.FloatField()
    longitude_deg = models.FloatField()
    elevation_m = models.FloatField(default=0)
    time_zone = models.CharField(max_length=60, validators=[known_time_zone])
    climate_profile = models.CharField(
        max_length=20, choices=Profile.choices, blank=True, help_text="Leave empty to derive it from the weather."
    )
    station = models.ForeignKey(WeatherStation, on_delete=models.SET_NULL, null=True, blank=True, related_name="sites")
    access_notes = models.TextField(blank=True, help_text="Gate, code, parking, dog, where the water is.")
    hazards = models.TextField(blank=True, help_text="Slope, glass, bees, overhead line: what the crew must mind.")
    phone = models.CharField(max_length=40, blank=True, help_text="Whom to ring at the gate.")
    access_week = models.CharField(
        max_length=7,
        default="1111100",
        validators=[RegexValidator(r"^[01]{7}$", "seven digits 0 or 1, Monday first")],
        help_text="The days the client lets us in: seven digits, Monday first, 1 for yes.",
    )
    access_from = models.TimeField(null=True, blank=True)
    access_until = models.TimeField(null=True, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(latitude_deg__gte=-90, latitude_deg__lte=90), name="site_latitude_on_earth"
            ),
            models.CheckConstraint(
                condition=Q(longitude_deg__gte=-180, longitude_deg__lte=180), name="site_longitude_on_earth"
            ),
            models.CheckConstraint(condition=Q(access_week__regex=r"^[01]{7}$"), name="access_week_is_seven_days"),
            models.CheckConstraint(condition=~Q(access_week="0000000"), name="site_can_be_entered_on_some_day"),
            models.CheckConstraint(
                condition=Q(access_from=None) | Q(access_until=None) | Q(access_from__lt=F("access_until")),
                name="site_access_ends_after_it_begins",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    @property
    def place(self) -> Place:
        return Place(
            latitude_deg=self.latitude_deg,
            longitude_deg=self.longitude_deg,
            elevation_m=self.elevation_m,
            timezone=self.time_zone,
        )

    @property
    def access_days(self) -> str:
        """The days we may come, in words: "Monday, Tuesday"."""
        open_days = [name for name, digit in zip(calendar.day_name, self.access_week, strict=True) if digit == "1"]
        return "every day" if len(open_days) == 7 else ", ".join(open_days)

    def may_be_entered_on(self, day: date) -> bool:
        return self.access_week[day.weekday()] == "1"
