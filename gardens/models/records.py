"""Dated facts about trees and supports. Rows are added, never changed; a correction is a row of its own."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from gardens.models.supports import Support
from gardens.models.trees import Tree


class Record(models.Model):
    """One fact: measured, seen or done, on a day, by somebody, about a tree or a support.

    ``uid`` is made by whoever wrote the fact down (a phone, an import file, the office page), so that the same fact
    arriving twice is one row. ``corrects`` points at the row this one replaces; ``is_withdrawn`` takes a fact back
    without putting another in its place.
    """

    class Kind(models.TextChoices):
        MEASURED = "measured", "measured"
        SEEN = "seen", "seen"
        DONE = "done", "done"

    class Source(models.TextChoices):
        IMPORT = "import", "client book"
        OFFICE = "office", "office"
        PHONE = "phone", "phone"
        TASK = "task", "work order"

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    tree = models.ForeignKey(Tree, on_delete=models.CASCADE, null=True, blank=True, related_name="records")
    support = models.ForeignKey(Support, on_delete=models.CASCADE, null=True, blank=True, related_name="records")
    on = models.DateField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    what = models.CharField(max_length=40)
    limb = models.CharField(max_length=60, default="whole")
    value = models.FloatField(null=True, blank=True, help_text="mm, degrees, a count, or kg, by what was recorded.")
    text = models.TextField(blank=True)
    details = models.JSONField(
        default=dict, blank=True, help_text="How it was measured: span_mm and load_n_m of a sag on a wire."
    )
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True)
    source = models.CharField(max_length=10, choices=Source.choices)
    reference = models.CharField(max_length=60, blank=True, help_text="What it came from, such as task:17.")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    is_withdrawn = models.BooleanField(default=False)
    entered_at = models.DateTimeField()

    class Meta:
        ordering = ["on", "entered_at", "pk"]
        indexes = [
            # The fold of a tree reads all its records in order.
            models.Index(fields=["tree", "on"], name="records_of_a_tree"),
            models.Index(fields=["support", "on"], name="records_of_a_support"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(tree=None, support__isnull=False) | Q(tree__isnull=False, support=None),
                name="record_is_about_a_tree_or_a_support",
            ),
            models.CheckConstraint(condition=Q(kind__in=["measured", "seen", "done"]), name="record_kind_is_known"),
            models.CheckConstraint(condition=~Q(what=""), name="record_says_what"),
            models.CheckConstraint(
                condition=~Q(kind="measured") | Q(value__isnull=False) | Q(is_withdrawn=True),
                name="measurement_has_a_value",
            ),
            models.CheckConstraint(condition=Q(corrects=None) | ~Q(corrects=F("pk")), name="record_corrects_another"),
        ]

    def __str__(self) -> str:
        return f"{self.on} {self.kind} {self.what} {self.limb}"
