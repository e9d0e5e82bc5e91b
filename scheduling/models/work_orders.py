"""What the crew carries, what it answers, and the report that follows."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from gardens.training.state import WORK_KINDS
from scheduling.models.seasons import Need
from scheduling.models.visits import Visit


class WorkOrder(models.Model):
    """The jobs of one visit. ``version`` rises when they change, so that a stale sheet is seen."""

    visit = models.OneToOneField(Visit, on_delete=models.CASCADE, related_name="work_order")
    version = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"work order {self.pk}"


class Task(models.Model):
    """A need laid on a work order, with the words as they were printed."""

    class State(models.TextChoices):
        OPEN = "open", "To do"
        DONE = "done", "Done"
        NOT_DONE = "not_done", "Not done"

    class Reason(models.TextChoices):
        WEATHER = "weather", "weather"
        NO_ACCESS = "no_access", "no access"
        NOT_READY = "not_ready", "the tree is not ready"
        LOST = "lost", "tree or limb lost"
        UNSAFE = "unsafe", "not safe"
        NO_TIME = "no_time", "no time"
        NOT_NEEDED = "not_needed", "not needed"
        OTHER = "other", "another reason"

    work_order = models.ForeignKey(WorkOrder, on_delete=models.CASCADE, related_name="tasks")
    need = models.ForeignKey(Need, on_delete=models.SET_NULL, null=True, blank=True, related_name="tasks")
    tree = models.ForeignKey("gardens.Tree", on_delete=models.CASCADE, null=True, blank=True, related_name="tasks")
    support = models.ForeignKey(
        "gardens.Support", on_delete=models.CASCADE, null=True, blank=True, related_name="tasks"
    )
    number = models.PositiveSmallIntegerField(help_text="Its number on the drawing of its tree.")
    kind = models.CharField(max_length=30, choices=[(kind, kind) for kind in WORK_KINDS])
    limb = models.CharField(max_length=60, default="whole")
    instruction = models.TextField()
    why = models.TextField()
    minutes = models.FloatField()
    is_part = models.BooleanField(
        default=False, help_text="A day's share of a job that takes several; the task of the last day answers the need."
    )
    at_mm = models.IntegerField(null=True, blank=True)
    to_angle_deg = models.FloatField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    reason = models.CharField(max_length=20, choices=Reason.choices, blank=True)
    note = models.TextField(blank=True)
    value = models.FloatField(null=True, blank=True, help_text="What was measured or cut to, if it differs.")
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="answered_tasks"
    )

    class Meta:
        ordering = ["work_order", "tree__support__walk_order", "tree__position_mm", "number", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["work_order", "need"], name="need_once_per_work_order"),
            # A need is open on one work order at a time; answered tasks stay as history.
            models.UniqueConstraint(fields=["need"], condition=Q(state="open"), name="need_open_on_one_work_order"),
            models.CheckConstraint(condition=~Q(state="not_done") | ~Q(reason=""), name="not_done_says_why"),
            models.CheckConstraint(
                condition=Q(state="open", answered_at=None) | Q(~Q(state="open"), answered_at__isnull=False),
                name="answered_task_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return self.instruction


class VisitReport(models.Model):
    """The paper the client gets after a visit; the bytes are kept in the document archive."""

    visit = models.OneToOneField(Visit, on_delete=models.PROTECT, related_name="report")
    document = models.ForeignKey("business.ArchivedDocument", on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField()

    class Meta:
        ordering = ["-written_at"]

    def __str__(self) -> str:
        return f"report of {self.visit}"
