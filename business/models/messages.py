"""Mail on its way out: the database is the truth, the broker only wakes workers."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, F, Q

from business.models.archive import ArchivedDocument
from business.models.clients import Client


class Message(models.Model):
    """One mail to one address, sent on purpose once. ``key`` names the purpose, like "reminder:visit:17:1"."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        HANDED_OVER = "handed_over", "Handed over"
        NOT_SURE = "not_sure", "Not sure it went"
        REFUSED = "refused", "Refused"
        STOPPED = "stopped", "Stopped"

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=32, help_text="Like invoice, reminder, visit_report, season_letter.")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, blank=True, related_name="messages")
    to = models.EmailField(max_length=254)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    html_body = models.TextField(blank=True)
    headers = models.JSONField(default=dict, blank=True)
    documents = models.ManyToManyField(ArchivedDocument, blank=True, related_name="messages")
    message_id = models.CharField(max_length=160, unique=True, help_text="The Message-ID of every copy (RFC 5322).")
    may_repeat = models.BooleanField(default=False, help_text="A second copy does no harm, a lost one does.")

    state = models.CharField(max_length=12, choices=State, default=State.WAITING)
    not_before = models.DateTimeField(null=True, blank=True)
    not_after = models.DateTimeField(null=True, blank=True, help_text="Later it would be of no use, and is stopped.")
    from_hour = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Sent in these hours only, 0 to 23 …")
    until_hour = models.PositiveSmallIntegerField(null=True, blank=True, help_text="… and before this one, 1 to 24.")
    zone = models.CharField(max_length=64, blank=True, help_text="Whose clock the hours are read on (IANA).")
    claimed_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    next_try = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    error = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            CheckConstraint(condition=~Q(key="") & ~Q(to="") & ~Q(subject=""), name="message_has_key_address_subject"),
            CheckConstraint(
                condition=Q(state="handed_over", sent_at__isnull=False)
                | (~Q(state="handed_over") & Q(sent_at__isnull=True)),
                name="message_handed_over_has_its_time",
            ),
            CheckConstraint(
                condition=~Q(state__in=["refused", "not_sure", "stopped"]) | ~Q(error=""),
                name="message_that_did_not_go_says_why",
            ),
            CheckConstraint(
                condition=Q(state="waiting") | Q(claimed_at__isnull=True), name="message_claim_only_while_waiting"
            ),
            CheckConstraint(
                condition=Q(from_hour__isnull=True, until_hour__isnull=True, zone="")
                | (Q(from_hour__lt=F("until_hour"), until_hour__lte=24) & ~Q(zone="")),
                name="message_hours_in_order_and_with_a_zone",
            ),
        ]
        indexes = [
            # The sweep asks for waiting messages whose time has come.
            models.Index(fields=["next_try"], condition=Q(state="waiting"), name="message_waiting"),
            models.Index(fields=["state", "-created_at"], name="message_list"),
        ]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"
