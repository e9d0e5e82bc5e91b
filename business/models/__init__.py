"""Rows of this room."""

from business.models.agreements import Agreement
from business.models.archive import ArchivedDocument
from business.models.changes import ChangeNote
from business.models.clients import Client, Contact
from business.models.e_invoices import EInvoice
from business.models.invoices import Charge, Invoice, InvoiceLine, NumberSeries
from business.models.ledger import LedgerAccount
from business.models.licences import Licence
from business.models.messages import Message
from business.models.payment_reminders import PaymentReminder, ReminderHold, ReminderLadder, ReminderStep
from business.models.payments import Allocation, Payment
from business.models.prices import LateInterestRate, PriceItem, PriceList, TaxRate, TaxTreatment, Unit
from business.models.profile import BusinessProfile, Paper, TaxRounding, Units
from business.models.quotes import Quote, QuoteLine
from business.models.second_factors import RecoveryCode, SecondFactor
from business.models.sessions import StaffSession
from business.models.sign_in import SignInTry
from business.models.staff import Staff

__all__ = [
    "Agreement",
    "Allocation",
    "ArchivedDocument",
    "BusinessProfile",
    "ChangeNote",
    "Charge",
    "Client",
    "Contact",
    "EInvoice",
    "Invoice",
    "InvoiceLine",
    "LateInterestRate",
    "LedgerAccount",
    "Licence",
    "Message",
    "NumberSeries",
    "Paper",
    "Payment",
    "PaymentReminder",
    "PriceItem",
    "PriceList",
    "Quote",
    "QuoteLine",
    "RecoveryCode",
    "ReminderHold",
    "ReminderLadder",
    "ReminderStep",
    "SecondFactor",
    "SignInTry",
    "Staff",
    "StaffSession",
    "TaxRate",
    "TaxRounding",
    "TaxTreatment",
    "Unit",
    "Units",
]
