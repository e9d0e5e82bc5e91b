"""How this business trains, where it does otherwise than usual."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class HousePractice(models.Model):
    """One row, or none: then everything is as usual. Who changed what and when is kept as notes of changes."""

    choices = models.JSONField(default=dict, blank=True, help_text="Choices that differ from the usual ones, by name.")
    reason = models.CharField(max_length=300, blank=True)
    revision = models.PositiveIntegerField(default=1)
    changed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="house_practice_is_one_row")]

    def __str__(self) -> str:
        return "How we train"
