"""Filters over clients, invoices, charges and messages."""

from __future__ import annotations

from datetime import date

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from business.models import Client, Invoice, Message
from business.queries.clients import search_clients
from business.queries.invoices import UNSETTLED, overdue

# Browsers read and write ISO 8601 in day fields, whatever the language of the page.
DAY = forms.DateInput({"type": "date"}, format="%Y-%m-%d")


class ClientFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words, kind, and whether we still work for them."""

    words = django_filters.CharFilter(label="Name, number, place, mail or phone", method="search")
    kind = django_filters.ChoiceFilter(label="Kind", choices=Client.Kind.choices, empty_label="All kinds")
    is_active = django_filters.ChoiceFilter(
        label="Clients", choices=[("True", "present"), ("False", "former")], empty_label="present and former"
    )

    class Meta:
        model = Client
        fields: tuple[str, ...] = ()

    def search(self, clients: QuerySet[Client], name: str, value: str) -> QuerySet[Client]:
        return search_clients(clients, value)


class InvoiceFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words, standing and day. The day "late" is counted from is handed in by the page."""

    words = django_filters.CharFilter(label="Number or client", method="search")
    standing = django_filters.ChoiceFilter(
        label="Standing",
        method="stand",
        empty_label="All",
        choices=[
            ("draft", "Drafts"),
            ("open", "To be paid"),
            ("late", "Late"),
            ("paid", "Paid"),
            ("credited", "Credited"),
            ("credit_note", "Credit notes"),
        ],
    )
    since = django_filters.DateFilter(label="From", field_name="issued_on", lookup_expr="gte", widget=DAY)
    until = django_filters.DateFilter(label="Until", field_name="issued_on", lookup_expr="lte", widget=DAY)

    def __init__(self, *args: object, today: date, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    class Meta:
        model = Invoice
        fields: tuple[str, ...] = ()

    def search(self, invoices: QuerySet[Invoice], name: str, value: str) -> QuerySet[Invoice]:
        found = search_clients(Client.objects.all(), value)
        return invoices.filter(Q(number__icontains=value.strip()) | Q(client__in=found))

    def stand(self, invoices: QuerySet[Invoice], name: str, value: str) -> QuerySet[Invoice]:
        if value == "credit_note":
            return invoices.filter(kind="credit_note")
        invoices = invoices.filter(kind="invoice")
        if value == "open":
            return invoices.filter(state__in=UNSETTLED)
        return overdue(invoices, on=self.today) if value == "late" else invoices.filter(state=value)


class MessageFilter(django_filters.FilterSet):  # type: ignore[misc]
    """By words and state."""

    words = django_filters.CharFilter(label="Subject, address or client", method="search")
    state = django_filters.ChoiceFilter(label="State", choices=Message.State.choices, empty_label="All")

    class Meta:
        model = Message
        fields: tuple[str, ...] = ()

    def search(self, messages: QuerySet[Message], name: str, value: str) -> QuerySet[Message]:
        for word in value.split():
            messages = messages.filter(
                Q(subject__icontains=word) | Q(to__icontains=word) | Q(client__name__icontains=word)
            )
        return messages
