"""Sums of money as exact amounts.

SQLite adds decimals as binary floats and gives back digits that were never there; three digits after the point are all
that any column of money holds (see models), so a sum is brought back to them.
"""

from __future__ import annotations

from decimal import Decimal

from django.db.models import DecimalField, QuerySet, Sum
from django.db.models.expressions import Combinable

from business.money.amounts import rounded

AMOUNT = DecimalField(max_digits=14, decimal_places=3)


def exact(summed: Decimal | None) -> Decimal:
    """A sum from the database, brought back to the digits its column holds."""
    return rounded(summed or Decimal(0), 3)


def total_of(rows: QuerySet, expression: str | Combinable) -> Decimal:  # type: ignore[type-arg]
    """The exact sum of a column or an expression over rows; nothing for no rows."""
    return exact(rows.order_by().aggregate(total=Sum(expression, output_field=AMOUNT))["total"])
