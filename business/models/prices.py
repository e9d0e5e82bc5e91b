"""What we ask, and what the state takes: both by date."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from business.models.constraints import not_negative, percent


class TaxTreatment(models.TextChoices):
    STANDARD = "standard", "Standard rate"
    REDUCED = "reduced", "Reduced rate"
    ZERO = "zero", "Zero rate"
    EXEMPT = "exempt", "Exempt"
    REVERSE_CHARGE = "reverse_charge", "Reverse charge: the client accounts for the tax"
    OUTSIDE = "outside", "Outside the tax"


class Unit(models.TextChoices):
    """Units a price is for. The comment is the code of UN/ECE Recommendation 20 that e-invoices use."""

    HOUR = "hour", "hour"  # HUR
    DAY = "day", "day"  # DAY
    VISIT = "visit", "visit"  # C62
    TREE = "tree", "tree"  # C62
    PIECE = "piece", "piece"  # H87
    METRE = "metre", "metre"  # MTR
    KILOMETRE = "kilometre", "km"  # KMT
    KILOGRAM = "kilogram", "kg"  # KGM
    LITRE = "litre", "litre"  # LTR
    LOAD = "load", "load"  # C62
    LUMP = "lump", "lump sum"  # C62


class TaxRate(models.Model):
    """The percentage of a treatment from a day on. Treatments other than standard and reduced are always 0 %."""

    treatment = models.CharField(
        max_length=16, choices=[(t.value, t.label) for t in (TaxTreatment.STANDARD, TaxTreatment.REDUCED)]
    )
    valid_from = models.DateField()
    percent = models.DecimalField(max_digits=6, decimal_places=3)
    source = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["treatment", "valid_from"]
        constraints = [
            UniqueConstraint(fields=["treatment", "valid_from"], name="tax_rate_given_once_for_a_day"),
            percent("percent", name="tax_rate_is_a_percentage"),
            CheckConstraint(condition=Q(treatment__in=["standard", "reduced"]), name="tax_rate_of_a_taxed_treatment"),
        ]

    def __str__(self) -> str:
        return f"{self.get_treatment_display()} {self.percent} % from {self.valid_from}"


class LateInterestRate(models.Model):
    """The statutory yearly rate on late payment from a day on, as the central bank's half-year begins."""

    class Regime(models.TextChoices):
        UK = "uk", "United Kingdom: Late Payment of Commercial Debts (Interest) Act 1998"
        EU = "eu", "European Union: Directive 2011/7/EU"

    regime = models.CharField(max_length=2, choices=Regime)
    valid_from = models.DateField()
    percent = models.DecimalField(max_digits=6, decimal_places=3)
    source = models.CharField(max_length=160)

    class Meta:
        ordering = ["regime", "valid_from"]
        constraints = [
            UniqueConstraint(fields=["regime", "valid_from"], name="late_interest_given_once_for_a_day"),
            percent("percent", name="late_interest_is_a_percentage"),
            CheckConstraint(condition=~Q(source=""), name="late_interest_names_its_source"),
        ]

    def __str__(self) -> str:
        return f"{self.percent} % from {self.valid_from}"


class PriceList(models.Model):
    """A named set of prices. The standard one applies where an agreement names no other."""

    name = models.CharField(max_length=80, unique=True)
    is_standard = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-is_standard", "name"]
        constraints = [
            UniqueConstraint(fields=["is_standard"], condition=Q(is_standard=True), name="price_list_one_is_standard"),
            CheckConstraint(condition=~Q(name=""), name="price_list_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class PriceItem(models.Model):
    """The price of one thing from a day on; a later row of the same code takes over on its own day."""

    price_list = models.ForeignKey(PriceList, on_delete=models.CASCADE, related_name="items")
    code = models.SlugField(max_length=60, help_text="Like hour, travel, wire-2-5mm; stays the same over the years.")
    text = models.CharField(max_length=160)
    kind_of_work = models.CharField(
        max_length=24, blank=True, help_text="Like winter_prune: this price is for that work alone."
    )
    unit = models.CharField(max_length=12, choices=Unit, default=Unit.PIECE)
    net_price = models.DecimalField(max_digits=12, decimal_places=3)
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, default=TaxTreatment.STANDARD)
    valid_from = models.DateField()

    class Meta:
        ordering = ["code", "-valid_from"]
        constraints = [
            UniqueConstraint(fields=["price_list", "code", "valid_from"], name="price_given_once_for_a_day"),
            not_negative("net_price", name="price_not_negative"),
            CheckConstraint(condition=~Q(code="") & ~Q(text=""), name="price_has_a_code_and_words"),
        ]

    def __str__(self) -> str:
        return f"{self.text}, {self.net_price} each {self.get_unit_display()} from {self.valid_from}"
