"""Double entry: what each paper and each payment does to the accounts.

    invoice          receivables to revenue and tax, by treatment and rate
    credit note      the same, the other way round
    money in         bank or cash to client credit
    put to invoice   client credit to receivables (on the same day as the money: bank to receivables at once)
    money back       client credit to bank or cash
    given up         bad debts to receivables; a few smallest units: rounding differences

Every booking balances by itself, so the journal of any days does. The charges nobody invoiced yet are no booking: they
are a promise, not income (common practice of accrual books; a business on a cash basis reads the money rows alone).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

Role = Literal["receivables", "client_credit", "revenue", "tax", "money", "bad_debts", "rounding"]

ROUNDING_UNITS = 5
"""Up to so many smallest units of the currency, what is given up counts as a rounding difference."""

PLAIN_NAMES: dict[str, str] = {
    "receivables": "Receivables",
    "client_credit": "Client credit",
    "revenue": "Revenue",
    "tax": "Tax payable",
    "money": "Money",
    "bad_debts": "Bad debts",
    "rounding": "Rounding differences",
}


@dataclass(frozen=True, order=True)
class AccountKey:
    """Where a posting belongs, before anybody numbers accounts. Tax kinds for revenue and tax, method for money."""

    role: str
    treatment: str = ""
    rate_percent: Decimal | None = None
    method: str = ""


@dataclass(frozen=True)
class Posting:
    """Debit above zero, credit below."""

    key: AccountKey
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Booking:
    """One act in the books. ``document`` is the number of the paper, or the payment's own reference."""

    day: date
    document: str
    text: str
    client: str
    currency: str
    postings: tuple[Posting, ...]


@dataclass(frozen=True, kw_only=True)
class Taxed:
    """What a paper says of one kind of tax."""

    treatment: str
    rate_percent: Decimal
    net: Decimal
    tax: Decimal


@dataclass(frozen=True, kw_only=True)
class Sale:
    """An issued invoice, or a credit note; amounts as on the paper, both positive."""

    day: date
    number: str
    client: str
    currency: str
    parts: Sequence[Taxed]
    is_credit: bool = False


@dataclass(frozen=True, kw_only=True)
class Put:
    """A part of a payment put to an invoice on a day, or taken back (below zero)."""

    day: date
    invoice: str
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Money:
    """Money that came in or went back, or a debt given up; with all that was put to invoices of it."""

    day: date
    reference: str
    client: str
    currency: str
    kind: Literal["received", "refund", "given_up"]
    amount: Decimal
    method: str = "bank"
    puts: Sequence[Put] = field(default_factory=tuple)


def book_sale(sale: Sale) -> Booking:
    sign = -1 if sale.is_credit else 1
    gross = sum((part.net + part.tax for part in sale.parts), Decimal(0))
    postings = [Posting(AccountKey("receivables"), sign * gross)]
    for part in sale.parts:
        postings.append(Posting(AccountKey("revenue", part.treatment, part.rate_percent), -sign * part.net))
        postings.append(Posting(AccountKey("tax", part.treatment, part.rate_percent), -sign * part.tax))
    return Booking(
        day=sale.day,
        document=sale.number,
        text="Credit note" if sale.is_credit else "Invoice",
        client=sale.client,
        currency=sale.currency,
        postings=_netted(postings),
    )


def book_money(money: Money, *, digits: int = 2) -> list[Booking]:
    """One booking for each day something moved, the oldest first."""
    days = sorted({money.day, *(put.day for put in money.puts)})
    bookings = [_money_on(money, day, digits) for day in days]
    return [booking for booking in bookings if booking.postings]


def balances(bookings: Iterable[Booking]) -> dict[tuple[str, AccountKey], Decimal]:
    """The balance of every account by currency; debit above zero."""
    sums: dict[tuple[str, AccountKey], Decimal] = {}
    for booking in bookings:
        for posting in booking.postings:
            place = (booking.currency, posting.key)
            sums[place] = sums.get(place, Decimal(0)) + posting.amount
    return sums


@dataclass(frozen=True, kw_only=True)
class Account:
    """An account somebody chose. Empty columns say: for any."""

    role: str
    number: str
    name: str
    treatment: str = ""
    rate_percent: Decimal | None = None
    method: str = ""


def account_for(key: AccountKey, accounts: Sequence[Account]) -> tuple[str, str]:
    """Number and name of the account of a posting: of the rows that fit, the one that says most; else plain words."""
    fitting = [account for account in accounts if _fits(account, key)]
    if fitting:
        best = max(fitting, key=_how_much_it_says)
        return best.number, best.name
    return _plain_account(key)


def _money_on(money: Money, day: date, digits: int) -> Booking:
    credit, receivables = AccountKey("client_credit"), AccountKey("receivables")
    postings = []
    puts = [put for put in money.puts if put.day == day]
    if money.kind == "given_up":
        is_small = money.amount <= Decimal(ROUNDING_UNITS).scaleb(-digits)
        source = AccountKey("rounding" if is_small else "bad_debts")
    else:
        source = credit
        if day == money.day:
            into = money.amount if money.kind == "received" else -money.amount
            postings = [Posting(AccountKey("money", method=money.method), into), Posting(credit, -into)]
    for put in puts:
        postings += [Posting(source, put.amount), Posting(receivables, -put.amount)]
    about = ", ".join(dict.fromkeys(put.invoice for put in puts))
    return Booking(
        day=day,
        document=money.reference,
        text=f"{_MONEY_WORDS[money.kind]}{f' for {about}' if about else ''}",
        client=money.client,
        currency=money.currency,
        postings=_netted(postings),
    )


_MONEY_WORDS = {"received": "Payment", "refund": "Paid back", "given_up": "Given up"}


def _netted(postings: Sequence[Posting]) -> tuple[Posting, ...]:
    """One posting for each account, none of nothing."""
    sums: dict[AccountKey, Decimal] = {}
    for posting in postings:
        sums[posting.key] = sums.get(posting.key, Decimal(0)) + posting.amount
    return tuple(Posting(key, amount) for key, amount in sums.items() if amount)


def _fits(account: Account, key: AccountKey) -> bool:
    return (
        account.role == key.role
        and account.treatment in ("", key.treatment)
        and account.rate_percent in (None, key.rate_percent)
        and account.method in ("", key.method)
    )


def _how_much_it_says(account: Account) -> tuple[bool, bool, bool]:
    return account.rate_percent is not None, bool(account.treatment), bool(account.method)


def _plain_account(key: AccountKey) -> tuple[str, str]:
    words = [PLAIN_NAMES[key.role]]
    if key.role in ("revenue", "tax"):
        taxed = key.treatment in ("standard", "reduced")
        words.append(f"{key.rate_percent or 0:f}".rstrip("0").rstrip(".") + " %" if taxed else _words(key.treatment))
    if key.role == "money":
        words.append(key.method)
    number = "-".join(word.lower().replace(" %", "").replace(" ", "-") for word in words if word)
    return number, ", ".join(word for word in words if word)


def _words(treatment: str) -> str:
    return treatment.replace("_", " ")
