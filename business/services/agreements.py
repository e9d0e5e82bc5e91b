"""Agree with a client how they are charged."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from business.errors import BadInput, Fault
from business.models import Agreement, Client
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked


@transaction.atomic
def save_agreement(*, client: Client, agreement: Agreement | None = None, **values: Any) -> Agreement:
    """Store an agreement, or change one.

    Raises:
        BadInput: it overlaps another agreement of the client, or breaks a law of the table.
    """
    Client.objects.select_for_update().get(pk=client.pk)  # two agreements at once would not see each other
    row = agreement or Agreement(client=client)
    before = values_of(row) if agreement else {}
    put_values(row, values)
    if fault := _price_missing(row):
        raise BadInput([fault])
    save_checked(row, where="agreement")
    if other := _overlapping(row):
        until = f"until {other.valid_until}" if other.valid_until else "until further notice"
        raise BadInput(
            [
                Fault(
                    "agreement, from and until",
                    f"another one runs from {other.valid_from} {until}",
                    "end that one first, or choose other days",
                )
            ]
        )
    act = "agreement changed" if before else "agreement made"
    note(act, f"client:{client.pk}", before=before, after=values_of(row), has_money=True)
    return row


@transaction.atomic
def end_agreement(*, agreement: Agreement, last_day: date) -> Agreement:
    """Let an agreement end with a day.

    Raises:
        BadInput: the day lies before its beginning.
    """
    agreement.valid_until = last_day
    save_checked(agreement, where="agreement", only=["valid_until"])
    return agreement


def _overlapping(row: Agreement) -> Agreement | None:
    others = Agreement.objects.filter(client_id=row.client_id).exclude(pk=row.pk)
    others = others.filter(Q(valid_until=None) | Q(valid_until__gte=row.valid_from))
    if row.valid_until is not None:
        others = others.filter(valid_from__lte=row.valid_until)
    return others.first()


def _price_missing(row: Agreement) -> Fault | None:
    needed = {"by_visit": "visit_price", "per_tree": "tree_price", "season_fixed": "season_price"}
    column = needed.get(row.basis)
    if column is None or getattr(row, column) is not None:
        return None
    label = column.replace("_", " ")
    return Fault(f"agreement, {label}", f"{row.get_basis_display().lower()} needs one", f"give the {label}")
