"""The trees: what was decided when each was planted. How a tree stands is the fold of its records."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from gardens.models.sites import Site
from gardens.models.supports import Support
from gardens.training.state import FORMS, STARTS


class Tree(models.Model):
    """One tree on a support. ``position_mm`` is the trunk's distance from the support's left end."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="trees")
    support = models.ForeignKey(Support, on_delete=models.CASCADE, related_name="trees")
    code = models.SlugField(max_length=40)
    label = models.CharField(max_length=120, help_text="How people call it: “Pear by the greenhouse door”.")
    species = models.CharField(max_length=40, help_text="An id of the species rules.")
    cultivar = models.CharField(max_length=80, blank=True)
    rootstock = models.CharField(max_length=40, blank=True)
    form = models.CharField(max_length=40, choices=[(form, form) for form in FORMS])
    tiers = models.PositiveSmallIntegerField(default=0, help_text="0: as many as the support has wires.")
    position_mm = models.PositiveIntegerField()
    run_left_mm = models.PositiveIntegerField()
    run_right_mm = models.PositiveIntegerField()
    planted_on = models.DateField()
    start = models.CharField(max_length=20, choices=[(start, start) for start in STARTS], default="whip")
    tiers_at_start = models.PositiveSmallIntegerField(default=0)
    is_planned = models.BooleanField(default=False, help_text="Designed, not yet in the ground.")
    removed_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["support", "position_mm"]
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="tree_code_once_per_site"),
            models.UniqueConstraint(
                fields=["support", "position_mm"], condition=Q(removed_on=None), name="one_tree_per_place"
            ),
            models.CheckConstraint(condition=Q(form__in=FORMS), name="tree_form_is_known"),
            models.CheckConstraint(condition=Q(start__in=STARTS), name="tree_start_is_known"),
            models.CheckConstraint(condition=~Q(species=""), name="tree_has_a_species"),
            models.CheckConstraint(
                condition=Q(removed_on=None) | Q(removed_on__gte=F("planted_on")), name="tree_removed_after_planting"
            ),
            # The run left of the trunk must lie on the support; the right end needs the support's length (services).
            models.CheckConstraint(condition=Q(run_left_mm__lte=F("position_mm")), name="tree_begins_on_its_support"),
        ]

    def __str__(self) -> str:
        return self.label
