"""The accounts the journal books on."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from business.models import LedgerAccount
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked


@transaction.atomic
def add_account(**values: Any) -> LedgerAccount:
    """Name an account for the journal.

    Raises:
        BadInput: it is said already, or a column does not go with what it is for.
    """
    row = LedgerAccount()
    put_values(row, values)
    save_checked(row, where="account")
    note("account added", "business:1", after=values_of(row), has_money=True)
    return row


@transaction.atomic
def drop_account(*, account: LedgerAccount) -> None:
    note("account dropped", "business:1", before=values_of(account), has_money=True)
    account.delete()
