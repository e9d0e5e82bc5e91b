"""Walls, fences, posts and the wires on them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from gardens.models.sites import Site


class Support(models.Model):
    """One straight run that trees are trained on. Lengths in mm, seen from the worker's side, left end first."""

    class Kind(models.TextChoices):
        WALL = "wall", "wall"
        FENCE = "fence", "fence"
        POST_AND_WIRE = "post_and_wire", "posts and wires"

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="supports")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=20, choices=Kind.choices)
    length_mm = models.PositiveIntegerField()
    height_mm = models.PositiveIntegerField()
    faces_deg = models.PositiveSmallIntegerField(
        default=180, help_text="Where the trained side faces: 0 north, 90 east, 180 south, 270 west."
    )
    gap_mm = models.PositiveIntegerField(default=150, help_text="From the wall or fence to the trunks and wires.")
    post_spacing_mm = models.PositiveIntegerField(null=True, blank=True)
    built_on = models.DateField(null=True, blank=True)
    build = models.JSONField(
        default=dict,
        blank=True,
        help_text="Wire, fixings, posts, ground and wind as the supports core reads them; what is left out is assumed.",
    )
    walk_order = models.PositiveSmallIntegerField(default=0, help_text="The order one walks past the supports.")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["site", "walk_order", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="support_code_once_per_site"),
            models.CheckConstraint(condition=Q(length_mm__gt=0, height_mm__gt=0), name="support_has_a_size"),
            models.CheckConstraint(condition=Q(faces_deg__lt=360), name="support_faces_a_bearing"),
            models.CheckConstraint(
                condition=Q(kind__in=["wall", "fence", "post_and_wire"]), name="support_kind_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def wire_heights_mm(self) -> tuple[int, ...]:
        return tuple(wire.height_mm for wire in self.wires.all())


class Wire(models.Model):
    """One wire of a support, lowest first."""

    support = models.ForeignKey(Support, on_delete=models.CASCADE, related_name="wires")
    height_mm = models.PositiveIntegerField()
    diameter_mm = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    material = models.CharField(max_length=40, blank=True)
    # The support's height is repeated so that the table itself can refuse a wire above it.
    support_height_mm = models.PositiveIntegerField(editable=False)

    class Meta:
        ordering = ["support", "height_mm"]
        constraints = [
            models.UniqueConstraint(fields=["support", "height_mm"], name="one_wire_per_height"),
            models.CheckConstraint(condition=Q(height_mm__gt=0), name="wire_above_ground"),
            models.CheckConstraint(
                condition=Q(height_mm__lte=F("support_height_mm")), name="wire_not_above_its_support"
            ),
            models.CheckConstraint(condition=Q(diameter_mm=None) | Q(diameter_mm__gt=0), name="wire_has_a_thickness"),
        ]

    def __str__(self) -> str:
        return f"{self.support} wire at {self.height_mm} mm"
