"""Photos of trees: who took which when; the picture itself may come later than the word of it."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from gardens.models.sites import Site
from gardens.models.trees import Tree


class Photo(models.Model):
    """One photo. ``digest`` is the SHA-256 of the bytes the phone sends; what is kept is re-encoded from them.

    A row without a file says that the picture is still on its phone. ``pair`` joins before and after of one visit;
    ``reference`` names what it belongs to, such as visit:17.
    """

    class Pair(models.TextChoices):
        BEFORE = "before", "before"
        AFTER = "after", "after"

    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="photos")
    tree = models.ForeignKey(Tree, on_delete=models.CASCADE, null=True, blank=True, related_name="photos")
    digest = models.CharField(max_length=64)
    file = models.FileField(upload_to="photos/%Y", blank=True)
    small = models.FileField(upload_to="photos/%Y", blank=True)
    width_px = models.PositiveIntegerField(default=0)
    height_px = models.PositiveIntegerField(default=0)
    pair = models.CharField(max_length=6, choices=Pair.choices, blank=True)
    words = models.CharField(max_length=200, blank=True)
    taken_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True)
    reference = models.CharField(max_length=60, blank=True)
    refused = models.CharField(max_length=200, blank=True, help_text="Why its bytes are not a photo we can keep.")
    is_withdrawn = models.BooleanField(default=False)

    class Meta:
        ordering = ["-taken_at", "-pk"]
        indexes = [
            models.Index(fields=["tree", "-taken_at"], name="photos_of_a_tree"),
            models.Index(fields=["digest"], name="photos_by_digest"),
            models.Index(fields=["reference"], name="photos_by_reference"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(digest__regex=r"^[0-9a-f]{64}$"), name="photo_digest_is_sha256"),
            models.CheckConstraint(
                condition=Q(file="") | Q(width_px__gt=0, height_px__gt=0), name="photo_that_is_here_has_a_size"
            ),
        ]

    def __str__(self) -> str:
        return f"photo {self.uid}"

    @property
    def is_here(self) -> bool:
        return bool(self.file)
