"""What phones sent: every act as it was said, and what became of it. Rows are added, never changed in meaning."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from scheduling.models.visits import Visit
from scheduling.models.work_orders import Task


class Phone(models.Model):
    """One phone (one browser on it). ``known_seq`` is the number up to which none of its acts is missing."""

    uid = models.UUIDField(default=uuid.uuid4, unique=True)
    staff = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="phones")
    known_seq = models.PositiveIntegerField(default=0)
    waiting = models.PositiveIntegerField(default=0, help_text="Acts it said it still holds.")
    photos_waiting = models.PositiveIntegerField(default=0)
    oldest_waiting_at = models.DateTimeField(null=True, blank=True)
    first_seen_at = models.DateTimeField()
    last_seen_at = models.DateTimeField()
    lost_at = models.DateTimeField(null=True, blank=True, help_text="When it came back with an empty store.")

    class Meta:
        ordering = ["-last_seen_at"]

    def __str__(self) -> str:
        return f"phone of {self.staff}"


class HandedOut(models.Model):
    """A visit that was given to somebody's phone. Who had it may answer it, even if the office moved it since."""

    phone = models.ForeignKey(Phone, on_delete=models.CASCADE, related_name="handed_out")
    staff = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="handed_out")
    first_at = models.DateTimeField()

    class Meta:
        ordering = ["first_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["phone", "staff", "visit"], name="visit_handed_to_a_phone_once"),
        ]

    def __str__(self) -> str:
        return f"{self.visit} on {self.phone}"


class FieldAct(models.Model):
    """One thing somebody said or did in the garden. ``uid`` was made on the phone, and counts once for ever.

    ``happened_at`` is derived once, when the act arrived first; ``device_time`` stays as it came. ``flags`` are
    remarks (see scheduling.merging.FLAGS and scheduling.services.field_words); while ``is_open`` the office has to
    look at it. A refused act is kept too: the phone shows why, and a later act may repair it.
    """

    class Kind(models.TextChoices):
        DONE = "done", "done"
        NOT_DONE = "not_done", "not done"
        WITHDRAWS = "withdraws", "taken back"
        MEASURED = "measured", "measured"
        SEEN = "seen", "seen"
        NOTE = "note", "note"
        MATERIAL = "material", "material used"
        EXTRA = "extra", "extra work asked for"
        PHOTO = "photo", "photo"
        STARTED = "started", "started"
        FINISHED = "finished", "finished"
        SIGNED = "signed", "signed"
        NOBODY_HOME = "nobody_home", "nobody home"
        CALLED_OFF = "called_off", "called off"

    class Result(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        REFUSED = "refused", "refused"

    uid = models.UUIDField(unique=True)
    phone = models.ForeignKey(Phone, on_delete=models.PROTECT, null=True, blank=True, related_name="acts")
    seq = models.PositiveIntegerField(default=0)
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="field_acts")
    brought_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    kind = models.CharField(max_length=12, blank=True)
    visit = models.ForeignKey(Visit, on_delete=models.SET_NULL, null=True, blank=True, related_name="field_acts")
    task = models.ForeignKey(Task, on_delete=models.SET_NULL, null=True, blank=True, related_name="field_acts")
    tree = models.ForeignKey("gardens.Tree", on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    body = models.JSONField(default=dict, help_text="The act as it came, unknown fields included.")
    body_digest = models.CharField(max_length=64)
    withdraws = models.UUIDField(null=True, blank=True)
    repairs = models.UUIDField(null=True, blank=True)
    device_time = models.DateTimeField(null=True, blank=True)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    result = models.CharField(max_length=8, choices=Result.choices)
    problem = models.JSONField(default=dict, blank=True)
    flags = models.JSONField(default=list, blank=True)
    is_open = models.BooleanField(default=False, help_text="The office has to look at it.")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["happened_at", "pk"]
        indexes = [
            models.Index(fields=["visit", "kind"], name="acts_of_a_visit"),
            models.Index(fields=["phone", "seq"], name="acts_of_a_phone"),
            models.Index(fields=["withdraws"], name="acts_that_take_back"),
            models.Index(fields=["received_at"], condition=Q(is_open=True), name="acts_the_office_must_see"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(result="accepted") | (Q(result="refused") & ~Q(problem={})), name="refused_act_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} by {self.author}"
