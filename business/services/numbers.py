"""Numbers without a gap and without a double."""

from __future__ import annotations

from django.db import transaction

from business.models import NumberSeries


def take_number(series: str) -> int:
    """The next number of a series. Given back if the transaction around it does not come to its end.

    The row stays locked until then, so whoever wants the next number waits: on PostgreSQL by the row lock, on SQLite
    by the write lock that every transaction takes at its start (transaction_mode IMMEDIATE). A sequence of the
    database would be quicker and leave gaps.

    Raises:
        TransactionManagementError: called outside a transaction.
    """
    if not transaction.get_connection().in_atomic_block:
        raise transaction.TransactionManagementError("take a number inside the transaction that uses it")
    NumberSeries.objects.get_or_create(name=series)
    counter = NumberSeries.objects.select_for_update().get(name=series)
    counter.last += 1
    counter.save(update_fields=["last"])
    return counter.last
