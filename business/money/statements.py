"""A statement of account: what was owed before, what moved, what is owed now, and which papers are still open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

Kind = Literal["invoice", "credit_note", "payment", "refund", "given_up", "asked_again"]
RAISES: frozenset[Kind] = frozenset({"invoice", "refund", "asked_again"})
"""What a client owes grows by these and shrinks by the others."""
ORDER: dict[Kind, int] = {
    "invoice": 0,
    "credit_note": 1,
    "payment": 2,
    "refund": 3,
    "given_up": 4,
    "asked_again": 5,
}

AGES = (0, 30, 60, 90)
"""Upper ends of the age groups of open papers, in days late; the last group has none. [d]"""


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One movement. ``amount`` is above zero; the kind says which way it goes. ``due_on`` of an invoice alone."""

    on: date
    kind: Kind
    text: str
    amount: Decimal
    key: int = 0
    due_on: date | None = None

    @property
    def signed(self) -> Decimal:
        return self.amount if self.kind in RAISES else -self.amount


@dataclass(frozen=True, kw_only=True)
class Settling:
    """A part of a payment or credit note put to an invoice on a day; below zero when it was taken back."""

    invoice: int
    on: date
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Row:
    """A movement of the period with the balance after it."""

    entry: Entry
    balance: Decimal


@dataclass(frozen=True, kw_only=True)
class OpenItem:
    """An invoice that is not settled on the last day. ``days_late`` is below 1 while it is not late. [d]"""

    text: str
    on: date
    due_on: date
    amount: Decimal
    open_amount: Decimal
    days_late: int

    @property
    def age(self) -> int:
        """The number of its age group: 0 not late, 1 up to 30 days, … 4 more than 90."""
        return next((group for group, end in enumerate(AGES) if self.days_late <= end), len(AGES))


@dataclass(frozen=True, kw_only=True)
class Statement:
    """``closing = opening + what moved``, and ``closing = all that is open − in_advance``."""

    since: date
    until: date
    opening: Decimal
    rows: Sequence[Row]
    closing: Decimal
    open_items: Sequence[OpenItem]
    in_advance: Decimal

    @property
    def by_age(self) -> tuple[Decimal, ...]:
        """What is open in each age group."""
        sums = [Decimal(0)] * (len(AGES) + 1)
        for item in self.open_items:
            sums[item.age] += item.open_amount
        return tuple(sums)

    @property
    def open_amount(self) -> Decimal:
        return sum((item.open_amount for item in self.open_items), Decimal(0))


def state(entries: Sequence[Entry], settlings: Sequence[Settling], *, since: date, until: date) -> Statement:
    """The statement of one client in one currency.

    Args:
        entries: everything that ever moved; those after ``until`` are left aside.
        settlings: what was put to which invoice when.

    Raises:
        ValueError: the period ends before it begins.
    """
    if until < since:
        raise ValueError("the period ends before it begins")
    ordered = sorted(
        (entry for entry in entries if entry.on <= until), key=lambda e: (e.on, ORDER[e.kind], e.key, e.text)
    )
    opening = sum((entry.signed for entry in ordered if entry.on < since), Decimal(0))
    rows, balance = [], opening
    for entry in ordered:
        if entry.on >= since:
            balance += entry.signed
            rows.append(Row(entry=entry, balance=balance))
    items = _open_items(ordered, settlings, until)
    in_advance = sum((item.open_amount for item in items), Decimal(0)) - balance
    return Statement(
        since=since,
        until=until,
        opening=opening,
        rows=tuple(rows),
        closing=balance,
        open_items=tuple(items),
        in_advance=in_advance,
    )


def _open_items(entries: Sequence[Entry], settlings: Sequence[Settling], until: date) -> list[OpenItem]:
    settled: dict[int, Decimal] = {}
    for part in settlings:
        if part.on <= until:
            settled[part.invoice] = settled.get(part.invoice, Decimal(0)) + part.amount
    items = []
    for entry in entries:
        left = entry.amount - settled.get(entry.key, Decimal(0))
        if entry.kind == "invoice" and left > 0:
            due_on = entry.due_on or entry.on
            items.append(
                OpenItem(
                    text=entry.text,
                    on=entry.on,
                    due_on=due_on,
                    amount=entry.amount,
                    open_amount=left,
                    days_late=(until - due_on).days,
                )
            )
    return sorted(items, key=lambda item: (item.due_on, item.text))
