"""Money that came in or went back, and which invoices it settles."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, Q

from business.models.clients import Client
from business.models.constraints import never_more_than, not_negative
from business.models.invoices import Invoice
from business.models.profile import three_letters


class Payment(models.Model):
    """Money from a client, or given back to one. What is not allocated is the client's balance with us.

    What we give up on an invoice is a row too, put to that invoice whole: no money moved, but the debt is settled.
    """

    class Kind(models.TextChoices):
        RECEIVED = "received", "Received"
        REFUND = "refund", "Paid back"
        GIVEN_UP = "given_up", "Given up"

    class Method(models.TextChoices):
        BANK = "bank", "Bank transfer"
        CARD = "card", "Card"
        CASH = "cash", "Cash"
        CHEQUE = "cheque", "Cheque"
        OTHER = "other", "Other"

    key = models.CharField(max_length=80, unique=True, help_text="Made by whoever records it, so twice is once.")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.RECEIVED)
    received_on = models.DateField("day")
    amount = models.DecimalField(max_digits=14, decimal_places=3)
    currency = models.CharField(max_length=3, validators=[three_letters])
    method = models.CharField(max_length=8, choices=Method, default=Method.BANK)
    reference = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=200, blank=True)
    allocated = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-received_on", "-pk"]
        constraints = [
            CheckConstraint(condition=Q(amount__gt=0), name="payment_is_positive"),
            never_more_than("amount", "allocated", name="payment_allocated_at_most_in_full"),
            not_negative("allocated", name="payment_allocated_not_negative"),
            CheckConstraint(condition=~Q(key=""), name="payment_has_a_key"),
        ]
        indexes = [models.Index(fields=["client", "-received_on"], name="payment_of_client")]

    def __str__(self) -> str:
        return f"{self.amount} {self.currency} on {self.received_on}"

    @property
    def free_amount(self) -> Decimal:
        return self.amount - self.allocated


class Allocation(models.Model):
    """A part of a payment put to an invoice, or (negative) taken back from it. Rows are added, never changed.

    A refund allocates to the payments it gives back: ``payment`` is the refund, ``of_payment`` the money it returns.
    """

    payment = models.ForeignKey(Payment, on_delete=models.PROTECT, related_name="allocations")
    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, null=True, blank=True, related_name="allocations")
    of_payment = models.ForeignKey(Payment, on_delete=models.PROTECT, null=True, blank=True, related_name="refunds")
    amount = models.DecimalField(max_digits=14, decimal_places=3)
    booked_on = models.DateField(null=True, blank=True, help_text="The day it counts from in the books.")
    reason = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            CheckConstraint(condition=~Q(amount=0), name="allocation_is_not_nothing"),
            CheckConstraint(
                condition=Q(invoice__isnull=False, of_payment__isnull=True)
                | Q(invoice__isnull=True, of_payment__isnull=False),
                name="allocation_goes_to_one_thing",
            ),
            CheckConstraint(condition=Q(amount__gt=0) | ~Q(reason=""), name="allocation_taken_back_with_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.amount}"
