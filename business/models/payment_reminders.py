"""Asking again for money that is late: the ladder of steps, what was sent, and who is left in peace.

ReminderStep 1 ──► 2 ──► 3 ──► a person decides
      each step of an invoice is one PaymentReminder, once; a ReminderHold stops the ladder for an invoice or a client
"""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from business.models.archive import ArchivedDocument
from business.models.clients import Client
from business.models.constraints import not_negative
from business.models.invoices import Invoice


class ReminderLadder(models.Model):
    """How reminders leave the house. One row; without it nothing goes by itself."""

    sends_by_itself = models.BooleanField("send reminders by themselves", default=False)
    from_hour = models.PositiveSmallIntegerField("not before", default=8, help_text="Full hour, 0 to 23.")
    until_hour = models.PositiveSmallIntegerField("not from", default=18, help_text="Full hour, 1 to 24.")

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(pk=1), name="reminder_ladder_is_one_row"),
            CheckConstraint(
                condition=Q(from_hour__lt=F("until_hour"), until_hour__lte=24), name="payment_reminder_hours_in_order"
            ),
        ]

    def __str__(self) -> str:
        return "Payment reminders"


class ReminderStep(models.Model):
    """One step. The next one is the next number; the last one usually asks a person to decide."""

    number = models.PositiveSmallIntegerField(unique=True)
    name = models.CharField(max_length=60, help_text="Like friendly reminder; it heads the paper.")
    days_late = models.PositiveSmallIntegerField("days after the due day")
    text = models.TextField(
        "what it says", blank=True, help_text="{number}, {due}, {open}, {days} and {fee} stand for the invoice's own."
    )
    fee = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    names_interest = models.BooleanField("names late interest", default=False)
    is_for_a_person = models.BooleanField("nothing is sent: a person decides", default=False)

    class Meta:
        ordering = ["number"]
        constraints = [
            CheckConstraint(condition=Q(number__gte=1, number__lte=9), name="reminder_step_1_to_9"),
            CheckConstraint(condition=Q(days_late__gte=1, days_late__lte=365), name="reminder_step_within_a_year"),
            CheckConstraint(condition=Q(fee__isnull=True) | Q(fee__gte=0), name="reminder_step_fee_not_negative"),
            CheckConstraint(condition=Q(is_for_a_person=True) | ~Q(text=""), name="reminder_step_says_something"),
            CheckConstraint(condition=~Q(name=""), name="reminder_step_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class ReminderHold(models.Model):
    """Why an invoice, or everything of a client, is not reminded of."""

    class Kind(models.TextChoices):
        HELD = "held", "Held back"
        DISPUTED = "disputed", "Disputed"
        OPTED_OUT = "opted_out", "Never by the ladder"

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="reminder_holds")
    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, null=True, blank=True, related_name="reminder_holds")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.HELD)
    reason = models.CharField(max_length=200)
    until = models.DateField(null=True, blank=True, help_text="The last day, inclusive. Empty: until it is lifted.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            CheckConstraint(condition=~Q(reason=""), name="reminder_hold_has_a_reason"),
            UniqueConstraint(
                fields=["invoice"], condition=Q(lifted_at__isnull=True), name="reminder_hold_stands_once_for_an_invoice"
            ),
            UniqueConstraint(
                fields=["client"],
                condition=Q(lifted_at__isnull=True, invoice__isnull=True),
                name="reminder_hold_stands_once_for_a_client",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.reason}"


class PaymentReminder(models.Model):
    """One step that was taken for one invoice, with what was owed that day."""

    class Channel(models.TextChoices):
        MAIL = "mail", "Mail"
        POST = "post", "To be posted"

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="reminders")
    step = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    text = models.TextField()
    made_on = models.DateField()
    days_late = models.PositiveSmallIntegerField()
    open_amount = models.DecimalField(max_digits=14, decimal_places=3)
    fee = models.DecimalField(max_digits=10, decimal_places=3, default=Decimal(0))
    interest = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    fixed_sum = models.DecimalField(max_digits=10, decimal_places=3, default=Decimal(0))
    channel = models.CharField(max_length=4, choices=Channel)
    document = models.ForeignKey(
        ArchivedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="payment_reminders"
    )
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)

    class Meta:
        ordering = ["invoice", "step"]
        constraints = [
            UniqueConstraint(fields=["invoice", "step"], name="payment_reminder_step_taken_once"),
            CheckConstraint(condition=Q(open_amount__gt=0), name="payment_reminder_asks_for_something"),
            not_negative("fee", "interest", "fixed_sum", name="payment_reminder_amounts_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.made_on}"

    @property
    def asked(self) -> Decimal:
        """All that was asked for that day."""
        return self.open_amount + self.fee + self.interest + self.fixed_sum
