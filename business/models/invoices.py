"""Charges, and the papers that ask for them.

    Charge ──► InvoiceLine ──► Invoice (draft ──► issued ──► part_paid ──► paid | credited | given_up)
                                  ▲
                                  └── credit note: an Invoice of its own kind that names the invoice it credits

A draft may change and has no number. Issuing takes the next number of its series in the same transaction, freezes
seller, buyer, lines and tax, and from then on only `paid`, `credited`, `state` and `document` may move.
"""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import CheckConstraint, F, Q, UniqueConstraint

from business.models.archive import ArchivedDocument
from business.models.clients import Client
from business.models.constraints import adds_up, never_more_than, not_negative, percent
from business.models.prices import TaxTreatment, Unit
from business.models.profile import TaxRounding, three_letters


class NumberSeries(models.Model):
    """The last number given in a series. The row is locked while a number is taken, so there is no gap, no double."""

    name = models.CharField(max_length=24, unique=True)
    last = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.name}: {self.last}"


class Invoice(models.Model):
    """An invoice or a credit note. Amounts of a credit note are positive: what is given back."""

    class Kind(models.TextChoices):
        INVOICE = "invoice", "Invoice"
        CREDIT_NOTE = "credit_note", "Credit note"

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        ISSUED = "issued", "Sent"
        PART_PAID = "part_paid", "Part paid"
        PAID = "paid", "Paid"
        CREDITED = "credited", "Credited"
        GIVEN_UP = "given_up", "Given up"

    kind = models.CharField(max_length=12, choices=Kind, default=Kind.INVOICE)
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="invoices")
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    series = models.CharField(max_length=24, blank=True)
    sequence = models.PositiveIntegerField(null=True, blank=True)
    number = models.CharField(max_length=40, blank=True)
    issued_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    issued_at = models.DateTimeField(null=True, blank=True)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="issued_invoices"
    )
    work_from = models.DateField(null=True, blank=True)
    work_until = models.DateField(null=True, blank=True)

    currency = models.CharField(max_length=3, validators=[three_letters])
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(max_length=8, choices=TaxRounding, default=TaxRounding.LINE)
    net = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    tax = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    gross = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    paid = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    credited = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    prepaid = models.DecimalField(
        "paid in advance",
        max_digits=14,
        decimal_places=3,
        default=Decimal(0),
        help_text="Part of what is paid that the paper itself takes off; fixed with it.",
    )

    seller = models.JSONField(default=dict, blank=True)
    buyer = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    credits = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="credit_notes")
    reason = models.CharField(max_length=200, blank=True)
    document = models.ForeignKey(
        ArchivedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="invoices"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-issued_on", "-sequence", "-pk"]
        constraints = [
            UniqueConstraint(fields=["series", "sequence"], name="invoice_number_given_once"),
            UniqueConstraint(fields=["number"], condition=~Q(number=""), name="invoice_full_number_given_once"),
            CheckConstraint(
                condition=Q(state="draft", sequence__isnull=True, number="", series="", issued_on__isnull=True)
                | (
                    ~Q(state="draft")
                    & Q(sequence__gte=1, issued_on__isnull=False, due_on__isnull=False, issued_at__isnull=False)
                    & ~Q(number="")
                    & ~Q(series="")
                ),
                name="invoice_has_a_number_once_issued",
            ),
            CheckConstraint(
                condition=Q(due_on__isnull=True) | Q(due_on__gte=F("issued_on")), name="invoice_due_after_issue"
            ),
            CheckConstraint(
                condition=Q(kind="invoice", credits__isnull=True)
                | (Q(kind="credit_note", credits__isnull=False) & ~Q(reason="")),
                name="credit_note_names_invoice_and_reason",
            ),
            adds_up("gross", "net", "tax", name="invoice_adds_up"),
            never_more_than("gross", "paid", "credited", name="invoice_settled_at_most_in_full"),
            not_negative("gross", "paid", "credited", name="invoice_amounts_not_negative"),
            not_negative("prepaid", name="invoice_prepaid_not_negative"),
            never_more_than("gross", "prepaid", name="invoice_prepaid_at_most_in_full"),
            CheckConstraint(condition=~Q(state="draft") | Q(paid=0, credited=0), name="invoice_draft_has_no_payment"),
        ]
        indexes = [
            models.Index(fields=["client", "-issued_on"], name="invoice_of_client"),
            models.Index(fields=["state", "due_on"], name="invoice_due"),
        ]

    def __str__(self) -> str:
        return self.number or f"Draft {self.pk}"

    @property
    def is_draft(self) -> bool:
        return self.state == self.State.DRAFT

    @property
    def open_amount(self) -> Decimal:
        """What is still to be paid; nothing for a draft or a credit note."""
        if self.is_draft or self.kind == self.Kind.CREDIT_NOTE:
            return Decimal(0)
        return self.gross - self.paid - self.credited


class InvoiceLine(models.Model):
    """One line of a paper. ``tax`` is this line's share: the shares of all lines sum to the paper's tax exactly."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    done_on = models.DateField(null=True, blank=True)
    place = models.CharField(max_length=160, blank=True)
    text = models.CharField(max_length=300)
    quantity = models.DecimalField(max_digits=13, decimal_places=5, default=Decimal(1))
    unit = models.CharField(max_length=12, choices=Unit, default=Unit.PIECE)
    unit_price = models.DecimalField(max_digits=12, decimal_places=3)
    net = models.DecimalField(max_digits=14, decimal_places=3)
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, default=TaxTreatment.STANDARD)
    tax_percent = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal(0))
    tax = models.DecimalField(max_digits=14, decimal_places=3, default=Decimal(0))
    gross = models.DecimalField(max_digits=14, decimal_places=3)
    reference = models.CharField(max_length=120, blank=True)
    credits_line = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credit_lines"
    )

    class Meta:
        ordering = ["invoice", "position"]
        constraints = [
            UniqueConstraint(fields=["invoice", "position"], name="invoice_line_position_used_once"),
            adds_up("gross", "net", "tax", name="invoice_line_adds_up"),
            percent("tax_percent", name="invoice_line_tax_is_a_percentage"),
            CheckConstraint(
                condition=Q(tax_treatment__in=["standard", "reduced"]) | Q(tax_percent=0),
                name="invoice_line_untaxed_has_no_rate",
            ),
            CheckConstraint(condition=~Q(text=""), name="invoice_line_has_words"),
        ]

    def __str__(self) -> str:
        return self.text


class Charge(models.Model):
    """Work or goods that will be invoiced. ``reference`` says where it comes from ("visit:17:labour"), once only."""

    class Kind(models.TextChoices):
        LABOUR = "labour", "Work"
        MATERIALS = "materials", "Materials"
        TRAVEL = "travel", "Travel"
        MINIMUM = "minimum", "Up to the minimum charge"
        INSTALMENT = "instalment", "Instalment"
        DISCOUNT = "discount", "Discount"
        OTHER = "other", "Other"

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="charges")
    kind = models.CharField(max_length=12, choices=Kind, default=Kind.LABOUR)
    done_on = models.DateField()
    place = models.CharField(max_length=160, blank=True, help_text="Which garden, in words the client knows.")
    text = models.CharField(max_length=300)
    quantity = models.DecimalField(max_digits=13, decimal_places=5, default=Decimal(1))
    unit = models.CharField(max_length=12, choices=Unit, default=Unit.PIECE)
    unit_price = models.DecimalField(max_digits=12, decimal_places=3)
    amount = models.DecimalField(
        max_digits=14, decimal_places=3, help_text="Quantity times price; with tax inside if prices include tax."
    )
    currency = models.CharField(max_length=3, validators=[three_letters])
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, default=TaxTreatment.STANDARD)
    tax_percent = models.DecimalField(max_digits=6, decimal_places=3, default=Decimal(0))
    reference = models.CharField(max_length=120, unique=True)
    invoice_line = models.ForeignKey(
        InvoiceLine, on_delete=models.SET_NULL, null=True, blank=True, related_name="charges"
    )
    written_off_at = models.DateTimeField(null=True, blank=True)
    written_off_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True)
    write_off_reason = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["done_on", "pk"]
        constraints = [
            CheckConstraint(condition=~Q(reference=""), name="charge_has_a_reference"),
            CheckConstraint(condition=~Q(text=""), name="charge_has_words"),
            CheckConstraint(condition=Q(quantity__gt=0), name="charge_quantity_positive"),
            percent("tax_percent", name="charge_tax_is_a_percentage"),
            CheckConstraint(
                condition=Q(tax_treatment__in=["standard", "reduced"]) | Q(tax_percent=0),
                name="charge_untaxed_has_no_rate",
            ),
            CheckConstraint(
                condition=Q(written_off_at__isnull=True, write_off_reason="")
                | (Q(written_off_at__isnull=False) & ~Q(write_off_reason="")),
                name="charge_written_off_with_a_reason",
            ),
            CheckConstraint(
                condition=Q(written_off_at__isnull=True) | Q(invoice_line__isnull=True),
                name="charge_written_off_is_not_invoiced",
            ),
        ]
        indexes = [
            models.Index(
                fields=["client", "done_on"],
                condition=Q(invoice_line__isnull=True, written_off_at__isnull=True),
                name="charge_open",
            )
        ]

    def __str__(self) -> str:
        return f"{self.text}, {self.amount} {self.currency}"

    @property
    def is_open(self) -> bool:
        return self.invoice_line_id is None and self.written_off_at is None
