"""Drives a road service told us, kept so that it is asked once."""

from __future__ import annotations

from django.db import models


class RoadLeg(models.Model):
    """One drive, by its two ends in millionths of a degree: a garden that is moved on the map is asked for anew."""

    service = models.CharField(max_length=200, help_text="The address of the service that answered.")
    from_latitude = models.IntegerField()
    from_longitude = models.IntegerField()
    to_latitude = models.IntegerField()
    to_longitude = models.IntegerField()
    seconds = models.FloatField()
    metres = models.FloatField()
    asked_on = models.DateField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["service", "from_latitude", "from_longitude", "to_latitude", "to_longitude"],
                name="one_road_leg_per_service_and_ends",
            ),
            models.CheckConstraint(
                condition=models.Q(seconds__gte=0, metres__gte=0), name="road_leg_takes_no_negative_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.seconds / 60:.0f} min from the road service"
