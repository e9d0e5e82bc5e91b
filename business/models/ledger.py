"""The accountant's names for what the journal books on. Without a row the plain names of ``money.journal`` are used."""

from __future__ import annotations

from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint

from business.models.constraints import percent as share
from business.models.payments import Payment
from business.models.prices import TaxTreatment


class LedgerAccount(models.Model):
    """One account. A row that says more about when it applies goes before one that says less."""

    class Role(models.TextChoices):
        RECEIVABLES = "receivables", "Receivables: what clients owe"
        CLIENT_CREDIT = "client_credit", "Client credit: paid, not used by an invoice yet"
        REVENUE = "revenue", "Revenue"
        TAX = "tax", "Tax payable"
        MONEY = "money", "Bank and cash"
        BAD_DEBTS = "bad_debts", "Bad debts: given up"
        ROUNDING = "rounding", "Rounding differences"

    role = models.CharField("for", max_length=14, choices=Role)
    treatment = models.CharField(
        "only for the tax", max_length=16, choices=TaxTreatment, blank=True, help_text="For revenue and tax."
    )
    percent = models.DecimalField("only at the rate", max_digits=6, decimal_places=3, null=True, blank=True)
    method = models.CharField(
        "only for money by", max_length=8, choices=Payment.Method, blank=True, help_text="For bank and cash."
    )
    number = models.CharField("account", max_length=24)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["role", "treatment", "percent", "method", "pk"]
        constraints = [
            UniqueConstraint(fields=["role", "treatment", "percent", "method"], name="ledger_account_said_once"),
            UniqueConstraint(
                fields=["role", "treatment", "method"],
                condition=Q(percent__isnull=True),
                name="ledger_account_of_any_rate_said_once",
            ),
            CheckConstraint(condition=~Q(number="") & ~Q(name=""), name="ledger_account_has_number_and_name"),
            CheckConstraint(
                condition=Q(role__in=["revenue", "tax"]) | Q(treatment="", percent__isnull=True),
                name="ledger_account_tax_only_for_revenue_and_tax",
            ),
            CheckConstraint(condition=Q(role="money") | Q(method=""), name="ledger_account_method_only_for_money"),
            share("percent", name="ledger_account_rate_is_a_percentage"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"
