"""One crew at one site on one day, and the day's rounds they make up."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from scheduling.models.crews import Crew
from scheduling.models.seasons import Season


class Round(models.Model):
    """One crew's day: its visits in order, local times of the crew."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="rounds")
    on = models.DateField()
    leaves_at = models.TimeField(null=True, blank=True)
    back_at = models.TimeField(null=True, blank=True)
    drive_minutes = models.PositiveSmallIntegerField(default=0)
    drive_km = models.FloatField(default=0)

    class Meta:
        ordering = ["on", "crew"]
        constraints = [models.UniqueConstraint(fields=["crew", "on"], name="one_round_per_crew_and_day")]

    def __str__(self) -> str:
        return f"{self.crew} on {self.on}"


class Visit(models.Model):
    """A visit, from suggestion to finish. ``on`` and times are local to the site."""

    class State(models.TextChoices):
        PROPOSED = "proposed", "Suggested"
        PLANNED = "planned", "Planned"
        CONFIRMED = "confirmed", "Agreed"
        STARTED = "started", "Under way"
        FINISHED = "finished", "Finished"
        CALLED_OFF = "called_off", "Called off"

    ON_A_ROUND = (State.PLANNED, State.CONFIRMED, State.STARTED, State.FINISHED)

    site = models.ForeignKey("gardens.Site", on_delete=models.PROTECT, related_name="visits")
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="visits")
    round = models.ForeignKey(Round, on_delete=models.SET_NULL, null=True, blank=True, related_name="visits")
    state = models.CharField(max_length=12, choices=State.choices, default=State.PROPOSED)
    is_locked = models.BooleanField(default=False, help_text="A plan never moves it.")
    opens = models.DateField(help_text="The first day all its work may be done.")
    best_from = models.DateField()
    best_until = models.DateField()
    closes = models.DateField(help_text="The last day all its work may be done.")
    minutes = models.PositiveSmallIntegerField(help_text="Time on site for one trained person.")
    crew_size = models.PositiveSmallIntegerField(default=1)
    skills = models.JSONField(default=list, blank=True)
    weather_rules = models.JSONField(default=list, blank=True)
    preferred_crew = models.ForeignKey(
        Crew, on_delete=models.SET_NULL, null=True, blank=True, related_name="preferred_visits"
    )
    called_off_crew = models.ForeignKey(
        Crew,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who was to make it: their calendar says that it is off.",
    )
    on = models.DateField(null=True, blank=True)
    position = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Its place in the round, from 1.")
    arrives_at = models.TimeField(null=True, blank=True)
    leaves_at = models.TimeField(null=True, blank=True)
    drive_minutes = models.PositiveSmallIntegerField(default=0, help_text="Drive to it from the stop before.")
    why_here = models.TextField(blank=True, help_text="Why its work was put together.")
    reason = models.CharField(max_length=120, blank=True, help_text="Why it was called off.")
    note = models.TextField(blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    minutes_taken = models.PositiveSmallIntegerField(null=True, blank=True)
    revision = models.PositiveIntegerField(default=0, help_text="Rises with every change; a stale page is refused.")

    class Meta:
        ordering = ["on", "position", "opens", "pk"]
        indexes = [
            models.Index(fields=["state", "on"], name="visits_by_state_and_day"),
            models.Index(fields=["site", "on"], name="visits_of_a_site"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(opens__lte=F("best_from"))
                & Q(best_from__lte=F("best_until"))
                & Q(best_until__lte=F("closes")),
                name="visit_window_in_order",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["proposed", "called_off"]) | Q(on__isnull=False, round__isnull=False),
                name="visit_that_stands_has_a_day_and_a_crew",
            ),
            models.CheckConstraint(condition=~Q(state="called_off") | ~Q(reason=""), name="called_off_visit_says_why"),
            models.CheckConstraint(
                condition=~Q(state="finished") | Q(finished_at__isnull=False), name="finished_visit_has_an_end"
            ),
            models.CheckConstraint(
                condition=Q(finished_at=None) | Q(started_at=None) | Q(finished_at__gte=F("started_at")),
                name="visit_ends_after_it_started",
            ),
            models.CheckConstraint(
                condition=Q(arrives_at=None) | Q(leaves_at=None) | Q(arrives_at__lte=F("leaves_at")),
                name="visit_leaves_after_it_arrives",
            ),
            models.CheckConstraint(condition=Q(minutes__gt=0), name="visit_takes_time"),
        ]

    def __str__(self) -> str:
        return f"{self.site} {self.on or 'without a day'}"
