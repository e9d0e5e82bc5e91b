"""Clients as their pages show them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from business.models import Agreement, Charge, Client, Contact, Invoice, Payment
from business.models.clients import fold
from business.queries.sums import AMOUNT, total_of

NOTHING = Value(Decimal(0), output_field=AMOUNT)


def clients_for_list(clients: QuerySet[Client]) -> QuerySet[Client]:
    """With what a list shows: ``open_amount`` on sent invoices and ``open_charges`` not yet invoiced."""
    owed = (
        Invoice.objects.filter(client=OuterRef("pk"), kind="invoice", state__in=["issued", "part_paid"])
        .order_by()
        .values("client")
        .annotate(total=Sum(F("gross") - F("paid") - F("credited"), output_field=AMOUNT))
        .values("total")
    )
    waiting = (
        Charge.objects.filter(client=OuterRef("pk"), invoice_line=None, written_off_at=None)
        .order_by()
        .values("client")
        .annotate(number=Count("pk"))
        .values("number")
    )
    return clients.annotate(
        open_amount=Coalesce(Subquery(owed, output_field=AMOUNT), NOTHING),
        open_charges=Coalesce(Subquery(waiting), 0),
    ).order_by("name", "pk")


def search_clients(clients: QuerySet[Client], words: str) -> QuerySet[Client]:
    """Every word must occur in number, name, address, mail or phone; accents and capitals do not matter."""
    for word in fold(words).split():
        clients = clients.filter(search_text__contains=word)
    return clients


def with_contacts(clients: QuerySet[Client]) -> QuerySet[Client]:
    return clients.prefetch_related(Prefetch("contacts", queryset=Contact.objects.order_by("name")))


def contacts_of(client: Client) -> QuerySet[Contact]:
    return Contact.objects.filter(client=client).order_by("name", "pk")


def client_by_code(code: str) -> Client | None:
    return Client.objects.filter(code__iexact=code).first()


def highest_client_codes(prefix: str) -> QuerySet[Client, str]:
    return Client.objects.filter(code__startswith=prefix).values_list("code", flat=True)


def agreement_on(client: Client, on: date) -> Agreement | None:
    """The agreement in force on a day."""
    running = Agreement.objects.filter(client=client, valid_from__lte=on)
    return running.filter(Q(valid_until=None) | Q(valid_until__gte=on)).order_by("-valid_from").first()


def agreements_of(client: Client) -> QuerySet[Agreement]:
    return Agreement.objects.filter(client=client).select_related("price_list").order_by("-valid_from")


def season_agreements(until: date) -> QuerySet[Agreement]:
    """Fixed-price agreements that began by a day."""
    return Agreement.objects.filter(basis="season_fixed", valid_from__lte=until).select_related("client")


def balance_of(client: Client, *, currency: str) -> Decimal:
    """What a client has paid and no invoice has used: credit with us. Never below zero."""
    return total_of(
        Payment.objects.filter(client=client, kind="received", currency=currency), F("amount") - F("allocated")
    )
