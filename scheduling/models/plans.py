"""What a planning run did, so that it can be read, compared and undone."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from scheduling.models.visits import Visit


class Plan(models.Model):
    """One planning run over a span of days.

    ``before`` and ``after`` hold the placement of every visit it touched: visit id → state, crew, day, position and
    times, so that a plan can be compared and taken back.
    """

    class State(models.TextChoices):
        RUNNING = "running", "Under way"
        OFFERED = "offered", "To be accepted"
        ACCEPTED = "accepted", "Accepted"
        DROPPED = "dropped", "Dropped"
        UNDONE = "undone", "Taken back"

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True)
    cause = models.CharField(max_length=120, default="plan rounds")
    first_day = models.DateField()
    last_day = models.DateField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.RUNNING)
    before = models.JSONField(default=dict, blank=True)
    after = models.JSONField(default=dict, blank=True)
    numbers = models.JSONField(default=dict, blank=True)
    offer = models.JSONField(
        default=dict,
        blank=True,
        help_text="What an offer rests on and what else it writes: revisions, rounds, marks on shifts, reasons.",
    )

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.CheckConstraint(condition=Q(first_day__lte=F("last_day")), name="plan_days_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.cause} {self.first_day} to {self.last_day}"


class Unplaced(models.Model):
    """A visit, or a need that fits into no visit, that a run could not place, with the reason that binds."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, null=True, blank=True, related_name="unplaced")
    visit = models.OneToOneField(Visit, on_delete=models.CASCADE, null=True, blank=True, related_name="unplaced")
    need = models.OneToOneField(
        "scheduling.Need", on_delete=models.CASCADE, null=True, blank=True, related_name="unplaced"
    )
    code = models.CharField(max_length=40)
    why = models.TextField()
    remedy = models.TextField(blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(visit=None, need__isnull=False) | Q(visit__isnull=False, need=None),
                name="unplaced_is_a_visit_or_a_need",
            ),
        ]

    def __str__(self) -> str:
        return self.why
