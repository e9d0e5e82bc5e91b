"""What we offer to do, for how much, until when. A changed quote is a new version; the old one stays as it was sent."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from business.models.archive import ArchivedDocument
from business.models.clients import Client
from business.models.constraints import adds_up, percent
from business.models.prices import TaxTreatment, Unit
from business.models.profile import TaxRounding, three_letters


class Quote(models.Model):
    """One version of an offer. ``number`` is shared by all versions of it."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"
        REPLACED = "replaced", "Replaced by a newer version"

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="quotes")
    number = models.CharField(max_length=40)
    version = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    title = models.CharField(max_length=160)
    place = models.CharField(max_length=160, blank=True)
    words = models.TextField("what we would do", blank=True)
    not_included = models.TextField("what is not included", blank=True)
    valid_until = models.DateField()
    reference = models.CharField(max_length=120, blank=True, help_text='Where it comes from, like "support:4".')
    currency = models.CharField(max_length=3, validators=[three_letters])
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(max_length=8, choices=TaxRounding, default=TaxRounding.LINE)
    net = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    tax = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    gross = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    sent_on = models.DateField(null=True, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.CharField(max_length=120, blank=True, help_text="The name given by whoever answered.")
    answer = models.TextField(blank=True)
    document = models.ForeignKey(
        ArchivedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="quotes"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            UniqueConstraint(fields=["number", "version"], name="quote_version_used_once"),
            UniqueConstraint(
                fields=["number"],
                condition=Q(state__in=["draft", "sent", "accepted"]),
                name="quote_one_version_is_live",
            ),
            CheckConstraint(condition=~Q(number="") & ~Q(title=""), name="quote_has_number_and_title"),
            CheckConstraint(
                condition=Q(state__in=["draft", "replaced"]) | Q(sent_on__isnull=False), name="quote_sent_has_its_day"
            ),
            CheckConstraint(
                condition=~Q(state__in=["accepted", "declined"]) | (Q(decided_at__isnull=False) & ~Q(decided_by="")),
                name="quote_answer_has_name_and_time",
            ),
            adds_up("gross", "net", "tax", name="quote_adds_up"),
        ]

    def __str__(self) -> str:
        return f"{self.number} version {self.version}" if self.version > 1 else self.number


class QuoteLine(models.Model):
    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=300)
    quantity = models.DecimalField(max_digits=13, decimal_places=5, default=Decimal(1))
    unit = models.CharField(max_length=12, choices=Unit, default=Unit.PIECE)
    unit_price = models.DecimalField(max_digits=12, decimal_places=3)
    net = models.DecimalField(max_digits=14, decimal_places=3)
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, default=TaxTreatment.STANDARD)
    tax_percent = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal(0))
    tax = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    gross = models.DecimalField(max_digits=14, decimal_places=3)
    is_unpriced = models.BooleanField(
        default=False, help_text="Belongs to the offer, but nobody knows its price yet: the offer cannot be sent."
    )

    class Meta:
        ordering = ["quote", "position"]
        constraints = [
            UniqueConstraint(fields=["quote", "position"], name="quote_line_position_used_once"),
            adds_up("gross", "net", "tax", name="quote_line_adds_up"),
            percent("tax_percent", name="quote_line_tax_is_a_percentage"),
            CheckConstraint(condition=~Q(text=""), name="quote_line_has_words"),
            CheckConstraint(
                condition=Q(is_unpriced=False) | Q(unit_price=0, net=0), name="quote_line_unpriced_counts_for_nothing"
            ),
        ]

    def __str__(self) -> str:
        return self.text
