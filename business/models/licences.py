"""Papers that end: certificates to spray, cards for towers and ladders, insurance, the licence to carry waste."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q


class Licence(models.Model):
    """A licence, certificate or insurance of somebody, or of the business itself where nobody is named."""

    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="licences",
        verbose_name="whose",
        help_text="Empty: the business's own.",
    )
    name = models.CharField(max_length=120)
    number = models.CharField(max_length=80, blank=True)
    valid_from = models.DateField(null=True, blank=True)
    valid_until = models.DateField("last day")
    is_dropped = models.BooleanField("no longer needed", default=False, help_text="Nobody is reminded of it any more.")

    class Meta:
        ordering = ["valid_until", "name", "pk"]
        constraints = [
            CheckConstraint(condition=~Q(name=""), name="licence_has_a_name"),
            CheckConstraint(
                condition=Q(valid_from__isnull=True) | Q(valid_until__gte=F("valid_from")),
                name="licence_ends_after_it_begins",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} until {self.valid_until}"
