"""What clients ask of us through their own pages; a person in the office answers."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from scheduling.models.visits import Visit


class ClientAsk(models.Model):
    """One wish. It changes nothing by itself: the office moves the visit or corrects the address."""

    class Kind(models.TextChoices):
        MOVE = "move", "another day"
        CONTACT = "contact", "something about them is wrong"
        OTHER = "other", "a question"

    client = models.ForeignKey("business.Client", on_delete=models.CASCADE, related_name="asks")
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, null=True, blank=True, related_name="asks")
    kind = models.CharField(max_length=8, choices=Kind)
    words = models.TextField(max_length=1000)
    made_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        indexes = [models.Index(fields=["made_at"], condition=Q(settled_at=None), name="asks_to_settle")]
        constraints = [
            UniqueConstraint(
                fields=["visit", "kind"], condition=Q(settled_at=None), name="one_open_ask_of_a_kind_per_visit"
            ),
            CheckConstraint(condition=~Q(words=""), name="ask_says_what"),
            CheckConstraint(condition=~Q(kind="move") | Q(visit__isnull=False), name="ask_to_move_names_the_visit"),
        ]

    def __str__(self) -> str:
        return f"{self.client}: {self.get_kind_display()}"
