"""What proves, beside the password, that it is really them: an app that makes codes, and codes on paper."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint


class SecondFactor(models.Model):
    """The secret that somebody's app and we share (RFC 6238), and the newest time step that was used.

    The secret cannot be hashed, since a code is worked out from it; the database and its backups guard it.
    """

    staff = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="second_factor")
    key = models.CharField(max_length=40, help_text="160 random bits, in hexadecimal digits (RFC 4226, section 4).")
    made_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True, blank=True, help_text="Counts from the first right code on.")
    last_step = models.BigIntegerField(default=0, help_text="No code of this step or an earlier one is taken again.")

    class Meta:
        constraints = [CheckConstraint(condition=Q(key__regex=r"^[0-9a-f]{40}$"), name="second_factor_key_160_bits")]

    def __str__(self) -> str:
        return f"second factor of {self.staff_id}"

    @property
    def is_on(self) -> bool:
        return self.confirmed_at is not None


class RecoveryCode(models.Model):
    """A code on paper for the day the app is lost. Its first letters find it, the rest is kept as a hash."""

    factor = models.ForeignKey(SecondFactor, on_delete=models.CASCADE, related_name="recovery_codes")
    finder = models.CharField(max_length=4)
    secret_hash = models.CharField(max_length=200)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [UniqueConstraint(fields=["factor", "finder"], name="recovery_code_found_by_its_letters")]

    def __str__(self) -> str:
        return f"recovery code {self.finder}"
