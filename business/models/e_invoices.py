"""What an electronic invoice by EN 16931 asks of both parties, beside what every paper needs.

The comments name the business term of EN 16931-1 that a column becomes.
"""

from __future__ import annotations

from django.core.validators import RegexValidator
from django.db import models

# ISO/IEC 6523 names registers by four digits; the list of electronic addresses adds a few codes of letters (EM: mail).
register_code = RegexValidator(r"^\d{4}$", "Write the register as four digits, like 0088 (ISO/IEC 6523).")
address_code = RegexValidator(
    r"^(\d{4}|A[NQSU]|EM)$", "Write the kind of address as four digits, like 0088, or EM for a mail address (EAS list)."
)


class EInvoice(models.TextChoices):
    """How an invoice goes out for machines."""

    OFF = "off", "Paper and PDF only"
    HYBRID = "hybrid", "PDF with the XML inside (Factur-X)"
    CII = "cii", "XML beside the PDF, syntax CII"
    UBL = "ubl", "XML beside the PDF, syntax UBL 2.1"


class PartyOfEInvoices(models.Model):
    """What both parties may have."""

    legal_number = models.CharField(  # BT-30, BT-47
        "company number", max_length=40, blank=True, help_text="As entered in the register of companies."
    )
    legal_register = models.CharField(  # BT-30-1, BT-47-1
        "code of that register",
        max_length=4,
        blank=True,
        validators=[register_code],
        help_text="Four digits of ISO/IEC 6523, if it has any.",
    )
    electronic_address = models.CharField(  # BT-34, BT-49
        "address for e-invoices", max_length=120, blank=True, help_text="Left empty, the mail address is given."
    )
    electronic_kind = models.CharField(  # BT-34-1, BT-49-1
        "kind of that address",
        max_length=4,
        blank=True,
        validators=[address_code],
        help_text="Code of the EAS list, like 0088 for a GLN, EM for mail.",
    )

    class Meta:
        abstract = True


class SellerOfEInvoices(PartyOfEInvoices):
    """The business."""

    e_invoice = models.CharField(
        "electronic invoice",
        max_length=6,
        choices=EInvoice,
        default=EInvoice.OFF,
        help_text="By EN 16931. A client may have another choice.",
    )
    bank_account = models.CharField(  # BT-84
        "account number", max_length=40, blank=True, help_text="IBAN, or the number your bank uses."
    )
    bank_account_name = models.CharField("name of the account", max_length=80, blank=True)  # BT-85
    bank_code = models.CharField("BIC of the bank", max_length=11, blank=True)  # BT-86
    exempt_words = models.CharField(  # BT-120
        "why exempt work is exempt", max_length=160, blank=True, help_text="The provision, as papers must name it."
    )

    class Meta:
        abstract = True


class BuyerOfEInvoices(PartyOfEInvoices):
    """A client."""

    e_invoice = models.CharField(
        "electronic invoice", max_length=6, choices=EInvoice, blank=True, help_text="Empty: as the business does."
    )
    buyer_reference = models.CharField(  # BT-10
        "their reference", max_length=80, blank=True, help_text="What they want to read on invoices to route them."
    )

    class Meta:
        abstract = True
