"""Clients and their contacts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from business.errors import BadInput, Fault, Stale
from business.models import Client, Contact, Message
from business.queries.clients import client_by_code, contacts_of, highest_client_codes
from business.queries.profile import our_profile
from business.services.audit import note, values_of
from business.services.phones import international
from business.services.rows import put_values, save_checked


def next_client_code() -> str:
    """The number after the highest of the form C-0001."""
    numbers = [int(code[2:]) for code in highest_client_codes("C-") if code[2:].isdecimal()]
    return f"C-{max(numbers, default=0) + 1:04}"


@transaction.atomic
def save_client(*, client: Client | None = None, seen: str = "", **values: Any) -> Client:
    """Store a new client, or change one. An empty number of a new client becomes the next free one.

    Args:
        seen: ``version_of(client)`` as it was when the form was shown; empty: do not ask.

    Raises:
        BadInput: a value is wrong, or the number belongs to somebody else.
        Stale: somebody changed the client since the form was shown.
    """
    if client is not None:
        client = Client.objects.select_for_update().get(pk=client.pk)
        if seen and seen != version_of(client):
            raise Stale([Fault(client.name, "was changed by somebody else meanwhile", "look again, then change it")])
    row = client or Client()
    values = _tidied(values, country=row.country)
    if "code" in values or not row.code:
        values["code"] = (values.get("code") or row.code or next_client_code()).upper()
    other = client_by_code(values.get("code", row.code))
    if other is not None and other.pk != row.pk:
        raise BadInput([Fault("client number", f"{other.code} belongs to {other.name}", f"use {next_client_code()}")])
    before = values_of(row) if client is not None else {}
    changed = put_values(row, values)
    save_checked(row, where="client", only=None if client is None else changed)
    note("client changed" if before else "client added", f"client:{row.pk}", before=before, after=values_of(row))
    return row


def version_of(client: Client) -> str:
    """Differs after every change."""
    return client.changed_at.isoformat()


@transaction.atomic
def set_contacts(*, client: Client, contacts: Sequence[Mapping[str, Any]]) -> list[Contact]:
    """Make the contacts of a client exactly these; known names are changed, missing ones removed.

    Raises:
        BadInput: a contact breaks a law of the table, or a name comes twice.
    """
    names = [contact["name"] for contact in contacts]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise BadInput([Fault("contacts", f"{name} comes twice", "give each contact once") for name in twice])
    kept = {contact.name: contact for contact in contacts_of(client)}
    for name, contact in kept.items():
        if name not in names:
            contact.delete()
    rows = []
    for values in contacts:
        row = kept.get(values["name"]) or Contact(client=client)
        put_values(row, _tidied(values, country=client.country))
        save_checked(row, where=f"contact {values['name']}")
        rows.append(row)
    return rows


@transaction.atomic
def end_links(*, client: Client) -> int:
    """Make every link sent to a client so far worthless; the new serial comes back."""
    client = Client.objects.select_for_update().get(pk=client.pk)
    client.link_serial += 1
    client.save(update_fields=["link_serial"])
    note("links ended", f"client:{client.pk}", after={"link_serial": client.link_serial})
    return client.link_serial


@transaction.atomic
def stop_kind(*, client: Client, kind: str, is_stopped: bool = True) -> bool:
    """The client wants no more mail of a kind (or wants it again); say whether that changed anything.

    Mail of the kind that still waits is stopped too.
    """
    client = Client.objects.select_for_update().get(pk=client.pk)
    if is_stopped:
        Message.objects.filter(client=client, kind=kind, state=Message.State.WAITING, claimed_at=None).update(
            state=Message.State.STOPPED, error=f"{client.name} does not want messages of this kind"
        )
    if (kind in client.stopped_kinds) == is_stopped:
        return False
    before = list(client.stopped_kinds)
    client.stopped_kinds = sorted({*before, kind} if is_stopped else {*before} - {kind})
    client.save(update_fields=["stopped_kinds"])
    note(
        "mail stopped" if is_stopped else "mail wanted again",
        f"client:{client.pk}",
        before={"stopped_kinds": before},
        after={"stopped_kinds": client.stopped_kinds},
    )
    return True


def _tidied(values: Mapping[str, Any], *, country: str) -> dict[str, Any]:
    """Spaces trimmed, the phone in its international form."""
    tidy = {name: value.strip() if isinstance(value, str) else value for name, value in values.items()}
    if tidy.get("phone"):
        dialled_in = tidy.get("country") or country or our_profile().country
        tidy["phone"] = international(tidy["phone"], country=dialled_in)
    return tidy
