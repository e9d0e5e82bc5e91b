"""Who changed what: written beside the change, in its transaction, and never changed itself."""

from __future__ import annotations

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import CheckConstraint, Q


class ChangeNote(models.Model):
    """One act on one thing. ``before`` and ``after`` hold the values that differ, and nothing else."""

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="changes"
    )
    by_words = models.CharField(max_length=120, help_text="Their name as it was, or “the program”.")
    act = models.CharField(max_length=80, help_text="What was done, like “visit agreed”.")
    reference = models.CharField(max_length=60, help_text='What it was done to, like "visit:17".')
    before = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    after = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    has_money = models.BooleanField(default=False, help_text="Names prices: only for those who may see them.")

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [models.Index(fields=["reference", "-made_at"], name="changes_of_a_thing")]
        constraints = [
            CheckConstraint(
                condition=~Q(act="") & ~Q(reference="") & ~Q(by_words=""), name="change_says_who_what_where"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.act} {self.reference}"
