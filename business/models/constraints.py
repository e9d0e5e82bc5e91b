"""Laws about amounts that both databases can hold.

SQLite keeps decimals as binary floats: 0.10 + 0.20 is not 0.30 there. Laws of equality therefore allow less than half
of the smallest unit of any currency (three decimals); PostgreSQL, being exact, simply never uses the room.
"""

from __future__ import annotations

from decimal import Decimal

from django.db.models import CheckConstraint, F, Q
from django.db.models.expressions import Combinable

ROOM = Decimal("0.0004")


def adds_up(total: str, first: str, second: str, *, name: str) -> CheckConstraint:
    """``total`` is the sum of two other columns."""
    parts = F(first) + F(second)
    law = Q(**{f"{total}__gte": parts - ROOM}) & Q(**{f"{total}__lte": parts + ROOM})
    return CheckConstraint(condition=law, name=name)


def never_more_than(limit: str, *columns: str, name: str) -> CheckConstraint:
    """The columns together never exceed the column ``limit``."""
    total: Combinable = F(columns[0])
    for column in columns[1:]:
        total = total + F(column)
    return CheckConstraint(condition=Q(**{f"{limit}__gte": total - ROOM}), name=name)


def percent(column: str, *, name: str) -> CheckConstraint:
    """A share between nothing and the whole."""
    return CheckConstraint(condition=Q(**{f"{column}__gte": 0, f"{column}__lte": 100}), name=name)


def not_negative(*columns: str, name: str) -> CheckConstraint:
    """None of the columns falls below zero (an empty one is fine)."""
    law = Q()
    for column in columns:
        law &= Q(**{f"{column}__gte": 0})
    return CheckConstraint(condition=law, name=name)
