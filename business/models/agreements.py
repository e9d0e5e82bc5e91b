"""How a client is charged, from a day until a day."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import CheckConstraint, F, Q

from business.models.clients import Client
from business.models.constraints import not_negative, percent
from business.models.prices import PriceList, TaxTreatment


class Agreement(models.Model):
    """What a client and we agreed. Agreements of one client never overlap (held by services.agreements)."""

    class Basis(models.TextChoices):
        BY_VISIT = "by_visit", "A price for each visit"
        BY_HOUR = "by_hour", "By the hour"
        SEASON_FIXED = "season_fixed", "A fixed price for the season"
        PER_TREE = "per_tree", "A price for each tree"

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="agreements")
    valid_from = models.DateField()
    valid_until = models.DateField(
        null=True, blank=True, help_text="The last day, inclusive. Empty: until further notice."
    )
    basis = models.CharField(max_length=12, choices=Basis, default=Basis.BY_HOUR)
    price_list = models.ForeignKey(PriceList, on_delete=models.PROTECT, null=True, blank=True)

    hour_price = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    visit_price = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    tree_price = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    season_price = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    instalments = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1), MaxValueValidator(12)])
    visits_a_year = models.PositiveSmallIntegerField("most visits a year", null=True, blank=True)

    rounding_minutes = models.PositiveSmallIntegerField(
        "hours are rounded up to", default=15, validators=[MinValueValidator(1), MaxValueValidator(60)]
    )
    minimum_charge = models.DecimalField(max_digits=10, decimal_places=3, default=0)
    travel_price = models.DecimalField("travel, each visit", max_digits=10, decimal_places=3, default=0)
    materials_markup_percent = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    discount_percent = models.DecimalField(max_digits=6, decimal_places=2, default=0)
    tax_treatment = models.CharField(max_length=16, choices=TaxTreatment, default=TaxTreatment.STANDARD)
    payment_terms_days = models.PositiveSmallIntegerField("days to pay", null=True, blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-valid_from", "-pk"]
        constraints = [
            CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("valid_from")),
                name="agreement_ends_after_it_begins",
            ),
            CheckConstraint(
                condition=~Q(basis="by_visit") | Q(visit_price__isnull=False), name="agreement_by_visit_has_its_price"
            ),
            CheckConstraint(
                condition=~Q(basis="per_tree") | Q(tree_price__isnull=False), name="agreement_per_tree_has_its_price"
            ),
            CheckConstraint(
                condition=~Q(basis="season_fixed") | Q(season_price__isnull=False, instalments__gte=1),
                name="agreement_for_the_season_has_its_price",
            ),
            CheckConstraint(condition=Q(instalments__gte=1, instalments__lte=12), name="agreement_instalments_1_to_12"),
            not_negative(
                "minimum_charge", "travel_price", "materials_markup_percent", name="agreement_amounts_not_negative"
            ),
            percent("discount_percent", name="agreement_discount_is_a_percentage"),
        ]
        indexes = [models.Index(fields=["client", "valid_from"], name="agreement_of_client")]

    def __str__(self) -> str:
        return f"{self.get_basis_display()} from {self.valid_from}"
