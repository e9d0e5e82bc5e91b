"""Where people are signed in, so that they can see it and end it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q


class StaffSession(models.Model):
    """One device somebody is signed in on. Ended means gone: the row and the session behind it are deleted."""

    staff = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sessions")
    session_key = models.CharField(max_length=40, unique=True)
    device = models.CharField(max_length=300, blank=True, help_text="What the browser calls itself.")
    address = models.CharField(max_length=45, blank=True, help_text="Where it was used from last.")
    opened_at = models.DateTimeField()
    used_at = models.DateTimeField(help_text="To within a few minutes.")

    class Meta:
        ordering = ["-used_at", "-pk"]
        constraints = [
            CheckConstraint(condition=~Q(session_key=""), name="staff_session_has_a_key"),
            CheckConstraint(condition=Q(used_at__gte=models.F("opened_at")), name="staff_session_used_after_opened"),
        ]

    def __str__(self) -> str:
        return f"{self.staff_id} since {self.opened_at:%Y-%m-%d %H:%M}"
