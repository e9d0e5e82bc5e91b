"""The one door to this room's rows: what a person may see. Forbidden and missing look alike."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from business.models import (
    Agreement,
    ArchivedDocument,
    ChangeNote,
    Charge,
    Client,
    Invoice,
    Licence,
    Message,
    Payment,
    PriceList,
    Quote,
    Staff,
)

Anyone = AbstractBaseUser | AnonymousUser

MONEY_KINDS = ("invoice", "credit_note", "e_invoice", "quote", "statement", "payment_reminder")
"""Papers and mails that name prices."""


def is_office(user: Anyone) -> bool:
    """Owner and office, while they may sign in."""
    return isinstance(user, Staff) and user.is_active and user.is_office


def is_owner(user: Anyone) -> bool:
    return isinstance(user, Staff) and user.is_active and user.role == Staff.Role.OWNER


def may_see_prices(user: Anyone) -> bool:
    """Prices anywhere: a right of its own, whatever the role."""
    return isinstance(user, Staff) and user.is_active and user.sees_prices


def keeps_books(user: Anyone) -> bool:
    """Prices, charges, invoices, payments: office people and accountants who may see prices; never the crews."""
    return may_see_prices(user) and isinstance(user, Staff) and not user.is_field


def changes_books(user: Anyone) -> bool:
    """Issuing, crediting, recording: office people who may see prices. An accountant reads."""
    return is_office(user) and may_see_prices(user)


def clients_open_to(user: Anyone) -> QuerySet[Client]:
    return Client.objects.all() if is_office(user) or keeps_books(user) else Client.objects.none()


def invoices_open_to(user: Anyone) -> QuerySet[Invoice]:
    return Invoice.objects.select_related("client") if keeps_books(user) else Invoice.objects.none()


def charges_open_to(user: Anyone) -> QuerySet[Charge]:
    return Charge.objects.select_related("client") if keeps_books(user) else Charge.objects.none()


def payments_open_to(user: Anyone) -> QuerySet[Payment]:
    return Payment.objects.select_related("client") if keeps_books(user) else Payment.objects.none()


def agreements_open_to(user: Anyone) -> QuerySet[Agreement]:
    return Agreement.objects.select_related("client") if keeps_books(user) else Agreement.objects.none()


def price_lists_open_to(user: Anyone) -> QuerySet[PriceList]:
    return PriceList.objects.all() if keeps_books(user) else PriceList.objects.none()


def quotes_open_to(user: Anyone) -> QuerySet[Quote]:
    return Quote.objects.select_related("client") if keeps_books(user) else Quote.objects.none()


def documents_open_to(user: Anyone) -> QuerySet[ArchivedDocument]:
    """Papers of the archive. Those that name prices need that right; others are for the office."""
    if keeps_books(user):
        return ArchivedDocument.objects.all()
    if is_office(user):
        return ArchivedDocument.objects.exclude(kind__in=MONEY_KINDS)
    return ArchivedDocument.objects.none()


def messages_open_to(user: Anyone) -> QuerySet[Message]:
    """The outbox. Without the right to see prices, mail about money is not there."""
    if keeps_books(user):
        return Message.objects.select_related("client")
    if is_office(user):
        return Message.objects.select_related("client").exclude(kind__in=MONEY_KINDS)
    return Message.objects.none()


def staff_open_to(user: Anyone) -> QuerySet[Staff]:
    return Staff.objects.all() if is_office(user) else Staff.objects.none()


def licences_open_to(user: Anyone) -> QuerySet[Licence]:
    """Papers of the business and its people: for the office."""
    return Licence.objects.select_related("staff") if is_office(user) else Licence.objects.none()


def staff_behind(user: Anyone) -> Staff | None:
    """Who signed in, as a row; None for nobody."""
    return user if isinstance(user, Staff) else None


def changes_open_to(user: Anyone) -> QuerySet[ChangeNote]:
    """Who changed what: for the office; what names prices only with that right."""
    if not is_office(user):
        return ChangeNote.objects.none()
    return ChangeNote.objects.all() if may_see_prices(user) else ChangeNote.objects.filter(has_money=False)
