"""Crews, the people in them, and the days they work."""

from __future__ import annotations

from datetime import time

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q


def list_of_words(value: object) -> None:
    if not isinstance(value, list) or not all(isinstance(word, str) and word for word in value):
        raise ValidationError("write a list of skills, such as ladder, spraying")


class Crew(models.Model):
    """People who go out together in one vehicle, from one yard."""

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    size = models.PositiveSmallIntegerField(default=2, help_text="People who go out together.")
    skills = models.JSONField(default=list, blank=True, validators=[list_of_words])
    yard_latitude_deg = models.FloatField()
    yard_longitude_deg = models.FloatField()
    time_zone = models.CharField(max_length=60)
    working_week = models.CharField(
        max_length=7, default="1111100", validators=[RegexValidator(r"^[01]{7}$", "seven digits 0 or 1, Monday first")]
    )
    starts = models.TimeField(default=time(8, 0))
    ends = models.TimeField(default=time(16, 30))
    break_minutes = models.PositiveSmallIntegerField(default=30)
    carries_posts = models.PositiveSmallIntegerField(
        "posts the van takes", null=True, blank=True, help_text="Empty: as many as are needed."
    )
    carries_wire_m = models.PositiveIntegerField(
        "metres of wire the van takes", null=True, blank=True, help_text="Empty: as much as is needed."
    )
    carries_trees = models.PositiveSmallIntegerField(
        "trees the van takes", null=True, blank=True, help_text="Empty: as many as are needed."
    )
    is_active = models.BooleanField(default=True)
    calendar_serial = models.PositiveSmallIntegerField(
        default=1, help_text="Raising it ends every calendar address given out for this crew."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=Q(starts__lt=F("ends")), name="crew_day_ends_after_it_starts"),
            models.CheckConstraint(condition=Q(size__gt=0), name="crew_has_people"),
            models.CheckConstraint(condition=Q(working_week__regex=r"^[01]{7}$"), name="crew_week_is_seven_days"),
        ]

    def __str__(self) -> str:
        return self.name


class CrewMember(models.Model):
    """Somebody's place in a crew."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="members")
    staff = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="crew_place")
    is_lead = models.BooleanField(default=False)

    class Meta:
        ordering = ["crew", "-is_lead", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["crew"], condition=Q(is_lead=True), name="one_lead_per_crew"),
        ]

    def __str__(self) -> str:
        return f"{self.staff} in {self.crew}"


class Shift(models.Model):
    """One crew's working day, in the crew's local time. A day off is a row with ``is_off``."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="shifts")
    on = models.DateField()
    starts = models.TimeField()
    ends = models.TimeField()
    break_minutes = models.PositiveSmallIntegerField(default=30)
    is_off = models.BooleanField(default=False)
    is_wet = models.BooleanField(default=False, help_text="Weather-sensitive work is kept off this day.")
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["on", "crew"]
        constraints = [
            models.UniqueConstraint(fields=["crew", "on"], name="one_shift_per_crew_and_day"),
            models.CheckConstraint(condition=Q(starts__lt=F("ends")), name="shift_ends_after_it_starts"),
        ]

    def __str__(self) -> str:
        return f"{self.crew} {self.on}"
