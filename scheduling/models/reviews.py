"""A client's year on paper."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from business.models import ArchivedDocument, Client


class SeasonReview(models.Model):
    """The review of one season for one client. ``words`` are ours to the client; the kept paper is the last one made."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="season_reviews")
    year = models.PositiveSmallIntegerField()
    words = models.TextField("a few words to the client", blank=True)
    document = models.ForeignKey(ArchivedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    made_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)
    problem = models.TextField(blank=True, help_text="Why the last try made no paper.")

    class Meta:
        ordering = ["-year", "client"]
        constraints = [
            UniqueConstraint(fields=["client", "year"], name="season_review_once_for_a_client"),
            CheckConstraint(condition=Q(year__gte=2000, year__lte=2200), name="season_review_year_is_one"),
            CheckConstraint(
                condition=Q(document__isnull=True) | Q(made_at__isnull=False), name="season_review_kept_has_its_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.year} for {self.client}"
