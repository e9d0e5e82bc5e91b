"""Who we are: the one row every paper and page takes its name, place and habits from."""

from __future__ import annotations

from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import CheckConstraint, Q

from business.models.e_invoices import SellerOfEInvoices

two_letters = RegexValidator(r"^[A-Z]{2}$", "Write the country as two capital letters, like GB (ISO 3166-1).")
three_letters = RegexValidator(r"^[A-Z]{3}$", "Write the currency as three capital letters, like GBP (ISO 4217).")


def known_zone(name: str) -> None:
    """Refuse a time zone that the zone data does not know."""
    if name not in available_timezones():
        raise ValidationError(f"No time zone {name!r}. Write it like Europe/London (IANA time zone data).")


class Units(models.TextChoices):
    METRIC = "metric", "Centimetres, degrees Celsius"
    IMPERIAL = "imperial", "Feet and inches, degrees Fahrenheit"


class Paper(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "Letter"


class TaxRounding(models.TextChoices):
    LINE = "line", "Each line on its own"
    DOCUMENT = "document", "Once for each rate on the paper"


class BusinessProfile(SellerOfEInvoices):
    """The business itself. One row; `business.queries.profile.our_profile()` gives it or its unsaved defaults."""

    class ClimateProfile(models.TextChoices):
        MARITIME = "maritime", "Maritime: mild winters, cool summers"
        CONTINENTAL_COLD = "continental_cold", "Continental: cold winters, warm summers"
        MEDITERRANEAN = "mediterranean", "Mediterranean: mild wet winters, hot dry summers"

    name = models.CharField(max_length=120)
    legal_name = models.CharField(max_length=160, blank=True)
    address = models.TextField("address lines", blank=True)
    country = models.CharField(max_length=2, default="GB", validators=[two_letters])
    email = models.EmailField("reply-to mail", blank=True)
    phone = models.CharField(max_length=32, blank=True)
    web = models.URLField("web address", blank=True)

    zone = models.CharField("time zone", max_length=64, default="Europe/London", validators=[known_zone])
    language = models.CharField(max_length=12, default="en")
    units = models.CharField(max_length=8, choices=Units, default=Units.METRIC)
    paper = models.CharField(max_length=6, choices=Paper, default=Paper.A4)

    currency = models.CharField(max_length=3, default="GBP", validators=[three_letters])
    tax_label = models.CharField("name of the tax", max_length=24, default="VAT")
    tax_number = models.CharField(
        max_length=32, blank=True, help_text="Empty: the business is not registered, its papers show no tax."
    )
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(max_length=8, choices=TaxRounding, default=TaxRounding.LINE)
    payment_lines = models.TextField("how to pay", blank=True, help_text="Bank, account and what else a payer needs.")
    payment_terms_days = models.PositiveSmallIntegerField(
        "days to pay", default=30, validators=[MaxValueValidator(365)]
    )
    invoice_prefix = models.CharField("letters before invoice numbers", max_length=8, blank=True)
    credit_prefix = models.CharField("letters before credit note numbers", max_length=8, default="C")
    invoice_footer = models.TextField("small print on invoices", blank=True)
    charges_late_interest = models.BooleanField(default=False)
    reports_show_minutes = models.BooleanField(
        "clients read how long we worked", default=False, help_text="In visit reports and season reviews."
    )

    latitude = models.DecimalField(
        max_digits=8,
        decimal_places=5,
        null=True,
        blank=True,
        validators=[MinValueValidator(-90), MaxValueValidator(90)],
    )
    longitude = models.DecimalField(
        max_digits=8,
        decimal_places=5,
        null=True,
        blank=True,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
    )
    climate_profile = models.CharField(
        max_length=20,
        choices=ClimateProfile,
        blank=True,
        help_text="Holds for every site that has none of its own; leave empty to derive it from the weather of each site.",
    )
    emergency_number = models.CharField(max_length=24, default="112")

    needs_second_factor = models.BooleanField(
        "owner, office and accountant need a second factor",
        default=False,
        help_text="Beside the password, a code from an app on their phone.",
    )
    second_factor_grace_days = models.PositiveSmallIntegerField(
        "days to set it up", default=14, validators=[MaxValueValidator(90)], help_text="After that nothing opens."
    )

    class Meta:
        constraints = [
            CheckConstraint(condition=Q(pk=1), name="business_profile_is_one_row"),
            CheckConstraint(condition=Q(payment_terms_days__lte=365), name="business_payment_terms_within_a_year"),
            CheckConstraint(
                condition=Q(second_factor_grace_days__lte=90), name="business_second_factor_within_90_days"
            ),
            CheckConstraint(
                condition=Q(latitude__isnull=True) | Q(latitude__gte=-90, latitude__lte=90),
                name="business_latitude_on_earth",
            ),
            CheckConstraint(
                condition=Q(longitude__isnull=True) | Q(longitude__gte=-180, longitude__lte=180),
                name="business_longitude_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def address_lines(self) -> list[str]:
        return [line.strip() for line in self.address.splitlines() if line.strip()]

    @property
    def time_zone(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @property
    def is_tax_registered(self) -> bool:
        return bool(self.tax_number)
