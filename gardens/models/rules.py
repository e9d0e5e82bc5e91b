"""What this business does otherwise than the trade's rules: one changed key of one rule, with who, when and why."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class RuleOverride(models.Model):
    """A house rule. It is never changed: another one takes its place, or it is ended and the trade's rule is back."""

    rule = models.CharField(max_length=120, help_text="File and rule: apple_spur/summer_prune, stone/silver_leaf.")
    key = models.CharField(max_length=40, help_text="The key of the rule that is changed: closes.")
    value = models.JSONField(null=True, help_text="What stands there now.")
    original = models.JSONField(null=True, help_text="What our rule said when this was laid over it.")
    reason = models.CharField(max_length=300)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="rules_changed")
    made_at = models.DateTimeField()
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="rules_ended"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["rule", "key", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rule", "key"], condition=Q(ended_at=None), name="one_house_rule_stands_per_key"
            ),
            models.CheckConstraint(condition=~Q(rule="") & ~Q(key="") & ~Q(reason=""), name="house_rule_says_why"),
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_by=None) | Q(ended_at__gte=F("made_at"), ended_by__isnull=False),
                name="house_rule_is_ended_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule} {self.key}"
