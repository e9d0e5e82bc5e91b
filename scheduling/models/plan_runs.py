"""A plan being worked out by a job: what was asked, how far it is, whether it still lives."""

from __future__ import annotations

from django.db import models

from scheduling.models.plans import Plan


class PlanRun(models.Model):
    """The work on one plan. The job writes ``beat_at`` every second or two; a run without a beat has lost its worker.

    ``attempt`` rises each time a worker takes the run up. Only the worker of the last attempt may write the plan, so
    that one thought dead that wakes up again changes nothing.
    """

    plan = models.OneToOneField(Plan, on_delete=models.CASCADE, related_name="run")
    question = models.JSONField(help_text="What was asked: kind, and what the kind needs.")
    seconds = models.FloatField(help_text="How long it may search.")
    queued_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    beat_at = models.DateTimeField(null=True, blank=True)
    stop_asked_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    attempt = models.PositiveSmallIntegerField(default=0)
    stage = models.CharField(max_length=80, blank=True)
    placed = models.PositiveIntegerField(default=0)
    asked = models.PositiveIntegerField(default=0)
    faults = models.JSONField(default=list, blank=True, help_text="Why it came to nothing: where, wrong, remedy.")

    class Meta:
        ordering = ["-queued_at"]

    def __str__(self) -> str:
        return f"work on {self.plan}"
