"""Licences, certificates and insurances: kept, so that the office is reminded before they end."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from business.models import Licence
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked


@transaction.atomic
def save_licence(*, licence: Licence | None = None, **values: Any) -> Licence:
    """Add a licence, or change one (renewed: a later last day).

    Raises:
        BadInput: it has no name, or ends before it begins.
    """
    row = licence or Licence()
    before = values_of(row) if row.pk else {}
    put_values(row, values)
    save_checked(row, where="licence")
    note("licence changed" if before else "licence added", f"licence:{row.pk}", before=before, after=values_of(row))
    return row
