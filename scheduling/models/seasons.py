"""A year's work before anybody is sent: seasons and the needs found in them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from gardens.training.state import WORK_KINDS


class Season(models.Model):
    """One growing season, named after the calendar year in which it blooms in the north."""

    year = models.PositiveSmallIntegerField(unique=True)
    planned_at = models.DateTimeField(null=True, blank=True)
    blocked = models.JSONField(
        default=list, blank=True, help_text="Work that is due but finds no open day: tree id, kind, limb, why, source."
    )
    changes = models.JSONField(
        default=list, blank=True, help_text="What moved each time it was worked out again, the newest first."
    )

    class Meta:
        ordering = ["-year"]
        constraints = [models.CheckConstraint(condition=Q(year__gte=1900, year__lte=2200), name="season_year_is_near")]

    def __str__(self) -> str:
        return f"season {self.year}"


class SiteStages(models.Model):
    """The stage days a site's plan of a season rests on, so that the next one can tell what moved."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="stages")
    site = models.ForeignKey("gardens.Site", on_delete=models.CASCADE, related_name="season_stages")
    days = models.JSONField(default=dict, help_text="Species → stage → day.")

    class Meta:
        ordering = ["season", "site"]
        constraints = [models.UniqueConstraint(fields=["season", "site"], name="stages_once_per_season_and_site")]

    def __str__(self) -> str:
        return f"stages of {self.site_id} in {self.season_id}"


class Need(models.Model):
    """Work one tree (or support) is due in a season. See ``gardens.pruning.values.Need`` for the meaning of fields."""

    class State(models.TextChoices):
        OPEN = "open", "to do"
        DONE = "done", "done"
        LAPSED = "lapsed", "missed"
        WITHDRAWN = "withdrawn", "no longer needed"

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="needs")
    site = models.ForeignKey("gardens.Site", on_delete=models.CASCADE, related_name="needs")
    tree = models.ForeignKey("gardens.Tree", on_delete=models.CASCADE, null=True, blank=True, related_name="needs")
    support = models.ForeignKey(
        "gardens.Support", on_delete=models.CASCADE, null=True, blank=True, related_name="needs"
    )
    key = models.CharField(max_length=160, help_text="Tells this need from the others of the tree in the season.")
    kind = models.CharField(max_length=30, choices=[(kind, kind) for kind in WORK_KINDS])
    limb = models.CharField(max_length=60, default="whole")
    instruction = models.TextField()
    opens = models.DateField()
    best_from = models.DateField()
    best_until = models.DateField()
    closes = models.DateField()
    basis = models.CharField(max_length=10)
    minutes = models.FloatField()
    materials = models.JSONField(default=list, blank=True)
    skill = models.CharField(max_length=40, blank=True)
    people = models.PositiveSmallIntegerField(default=1, help_text="How many must be there at once.")
    weather_rule = models.CharField(max_length=80, blank=True)
    why = models.TextField()
    source = models.TextField()
    rule = models.CharField(max_length=120, blank=True)
    at_mm = models.IntegerField(null=True, blank=True)
    to_angle_deg = models.FloatField(null=True, blank=True)
    is_optional = models.BooleanField(default=False)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)

    class Meta:
        ordering = ["opens", "closes", "pk"]
        indexes = [
            # The season page filters by state and window end.
            models.Index(fields=["season", "state", "closes"], name="needs_by_window_end"),
            models.Index(fields=["site", "state"], name="needs_of_a_site"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["season", "tree", "key"], name="need_once_per_tree_and_season"),
            models.UniqueConstraint(
                fields=["season", "support", "key"], condition=Q(tree=None), name="need_once_per_support_and_season"
            ),
            models.CheckConstraint(
                condition=Q(opens__lte=F("best_from"))
                & Q(best_from__lte=F("best_until"))
                & Q(best_until__lte=F("closes")),
                name="need_window_in_order",
            ),
            models.CheckConstraint(condition=Q(minutes__gt=0), name="need_takes_time"),
            models.CheckConstraint(condition=~Q(source="") & ~Q(why=""), name="need_has_why_and_source"),
            models.CheckConstraint(
                condition=Q(tree__isnull=False) | Q(support__isnull=False), name="need_of_a_tree_or_a_support"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.limb}"
