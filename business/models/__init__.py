"""Rows of this room."""

from business.models.agreements import Agreement
from business.models.archive import ArchivedDocument
from business.models.clients import Client, Contact
from business.models.invoices import Charge, Invoice, InvoiceLine, NumberSeries
from business.models.messages import Message
from business.models.payments import Allocation, Payment
from business.models.prices import PriceItem, PriceList, TaxRate, TaxTreatment, Unit
from business.models.profile import BusinessProfile, Paper, TaxRounding, Units
from business.models.staff import Staff

__all__ = [
    "Agreement",
    "Allocation",
    "ArchivedDocument",
    "BusinessProfile",
    "Charge",
    "Client",
    "Contact",
    "Invoice",
    "InvoiceLine",
    "Message",
    "NumberSeries",
    "Paper",
    "Payment",
    "PriceItem",
    "PriceList",
    "Staff",
    "TaxRate",
    "TaxRounding",
    "TaxTreatment",
    "Unit",
    "Units",
]
