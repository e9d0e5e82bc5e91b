"""The people and organisations we work for."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import Any

from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint
from django.db.models.functions import Upper

from business.models.e_invoices import BuyerOfEInvoices
from business.models.profile import Paper, Units, two_letters


def fold(text: str) -> str:
    """Text as it is searched: without accents and capitals, so that "Émile" is found by "emile"."""
    plain = unicodedata.normalize("NFKD", text)
    return "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()


class Client(BuyerOfEInvoices):
    """Who we work for. Empty units, language or paper mean: as the business does."""

    class Kind(models.TextChoices):
        PERSON = "person", "Person or household"
        ORGANISATION = "organisation", "Organisation"

    code = models.CharField("client number", max_length=24)
    name = models.CharField(max_length=160)
    greeting = models.CharField(max_length=120, blank=True, help_text='How letters begin, like "Dear Mrs Hale".')
    kind = models.CharField(max_length=12, choices=Kind, default=Kind.PERSON)
    address = models.TextField("billing address", blank=True)
    country = models.CharField(max_length=2, blank=True, validators=[two_letters])
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=32, blank=True)
    tax_number = models.CharField(max_length=32, blank=True)
    language = models.CharField(max_length=12, blank=True)
    units = models.CharField(max_length=8, choices=Units, blank=True)
    paper = models.CharField(max_length=6, choices=Paper, blank=True)
    notes = models.TextField(blank=True)
    stopped_kinds = models.JSONField(
        "kinds of message they do not want", default=list, blank=True, help_text='Like ["reminder", "season_letter"].'
    )
    link_serial = models.PositiveIntegerField(
        default=1, editable=False, help_text="Part of every link sent to the client; raising it ends all older links."
    )
    is_active = models.BooleanField("still a client", default=True)
    search_text = models.TextField(editable=False, default="")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            UniqueConstraint(Upper("code"), name="client_number_used_once"),
            CheckConstraint(condition=~Q(code=""), name="client_has_a_number"),
            CheckConstraint(condition=~Q(name=""), name="client_has_a_name"),
        ]
        indexes = [models.Index(fields=["is_active", "name"], name="client_list")]

    def __str__(self) -> str:
        return self.name

    def save(self, *, update_fields: Iterable[str] | None = None, **options: Any) -> None:
        self.search_text = fold(" ".join((self.code, self.name, self.address, self.email, self.phone)))
        if update_fields is not None:
            update_fields = {*update_fields, "search_text", "changed_at"}
        super().save(update_fields=update_fields, **options)

    @property
    def address_lines(self) -> list[str]:
        return [line.strip() for line in self.address.splitlines() if line.strip()]

    @property
    def salutation(self) -> str:
        return self.greeting or f"Dear {self.name}"


class Contact(models.Model):
    """Somebody to speak to about a client's gardens or bills."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=80, blank=True, help_text="Like head gardener, estate office, neighbour.")
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=32, blank=True)
    gets_visit_mail = models.BooleanField(default=False)
    gets_invoice_mail = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            UniqueConstraint(fields=["client", "name"], name="contact_named_once_for_a_client"),
            CheckConstraint(condition=~Q(name=""), name="contact_has_a_name"),
            CheckConstraint(
                condition=~Q(email="") | Q(gets_visit_mail=False, gets_invoice_mail=False),
                name="contact_who_gets_mail_has_an_address",
            ),
        ]

    def __str__(self) -> str:
        return self.name
