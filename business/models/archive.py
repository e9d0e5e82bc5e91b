"""Papers as they left the house: bytes that never change."""

from __future__ import annotations

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

sixty_four_hex = RegexValidator(r"^[0-9a-f]{64}$", "A SHA-256 is 64 hexadecimal digits.")


class ArchivedDocument(models.Model):
    """One version of one paper. A new rendering is a new version, never an overwrite."""

    kind = models.CharField(max_length=32, help_text="Like invoice, credit_note, quote, visit_report.")
    reference = models.CharField(max_length=80, help_text='What it is of, like "invoice:12" or "visit:17".')
    version = models.PositiveIntegerField(default=1)
    file_name = models.CharField(max_length=120, help_text="The name a reader sees.")
    media_type = models.CharField(max_length=80, default="application/pdf")
    file = models.FileField(upload_to="archive/%Y/%m/", max_length=200)
    sha256 = models.CharField(max_length=64, validators=[sixty_four_hex])
    size = models.PositiveIntegerField()
    client = models.ForeignKey(
        "business.Client", on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            UniqueConstraint(fields=["kind", "reference", "version"], name="document_version_stored_once"),
            CheckConstraint(condition=Q(version__gte=1) & Q(size__gte=1), name="document_is_not_empty"),
            CheckConstraint(condition=~Q(sha256="") & ~Q(file=""), name="document_has_its_file_and_hash"),
        ]

    def __str__(self) -> str:
        return self.file_name
