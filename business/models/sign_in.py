"""Wrong passwords, counted where every web process sees them."""

from __future__ import annotations

from django.db import models
from django.db.models import UniqueConstraint


class SignInTry(models.Model):
    """How often a name was tried in vain from an address since it last worked there."""

    username = models.CharField(max_length=254, help_text="As typed, in small letters; it need not exist.")
    address = models.CharField(max_length=45)
    failures = models.PositiveIntegerField(default=0)
    last_failed_at = models.DateTimeField(null=True, blank=True)
    worked_at = models.DateTimeField(null=True, blank=True, help_text="The last time the password was right here.")

    class Meta:
        ordering = ["-last_failed_at", "pk"]
        indexes = [models.Index(fields=["address", "last_failed_at"], name="sign_in_tries_of_an_address")]
        constraints = [UniqueConstraint(fields=["username", "address"], name="sign_in_tries_counted_once")]

    def __str__(self) -> str:
        return f"{self.failures} tries from {self.address}"
