"""Whatever happens to money, the journal balances."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from business.money.journal import (
    Account,
    AccountKey,
    Money,
    Posting,
    Put,
    Sale,
    Taxed,
    account_for,
    balances,
    book_money,
    book_sale,
)

DAY = date(2026, 4, 1)
amounts = st.decimals("-500", "5000", places=2)
positive = st.decimals("0.01", "5000", places=2)
days = st.integers(0, 90).map(lambda n: DAY + timedelta(days=n))
sales = st.builds(
    Sale,
    day=days,
    number=st.just("2026-00001"),
    client=st.just("H-7"),
    currency=st.sampled_from(["GBP", "EUR"]),
    parts=st.lists(
        st.builds(
            Taxed,
            treatment=st.sampled_from(["standard", "reduced", "exempt"]),
            rate_percent=st.sampled_from([Decimal(20), Decimal(5), Decimal(0)]),
            net=amounts,
            tax=amounts,
        ),
        max_size=4,
    ),
    is_credit=st.booleans(),
)
moves = st.builds(
    Money,
    day=days,
    reference=st.just("P00001"),
    client=st.just("H-7"),
    currency=st.sampled_from(["GBP", "EUR"]),
    kind=st.sampled_from(["received", "refund", "given_up"]),
    amount=positive,
    method=st.sampled_from(["bank", "cash"]),
    puts=st.lists(st.builds(Put, day=days, invoice=st.just("2026-00001"), amount=amounts), max_size=4),
)


@given(st.lists(sales), st.lists(moves))
def test_every_booking_and_the_whole_balance(sold, moved):
    bookings = [*map(book_sale, sold), *(booking for money in moved for booking in book_money(money))]

    for booking in bookings:
        assert sum(posting.amount for posting in booking.postings) == 0
        assert all(posting.amount for posting in booking.postings)
    assert sum(balances(bookings).values()) == 0


def test_an_invoice_moves_receivables_to_revenue_and_tax():
    parts = [Taxed(treatment="standard", rate_percent=Decimal(20), net=Decimal(100), tax=Decimal(20))]
    sale = Sale(day=DAY, number="2026-00001", client="H-7", currency="GBP", parts=parts)

    assert book_sale(sale).postings == (
        Posting(AccountKey("receivables"), Decimal(120)),
        Posting(AccountKey("revenue", "standard", Decimal(20)), Decimal(-100)),
        Posting(AccountKey("tax", "standard", Decimal(20)), Decimal(-20)),
    )


def test_money_put_at_once_never_touches_client_credit():
    put = Put(day=DAY, invoice="2026-00001", amount=Decimal(120))
    money = Money(
        day=DAY, reference="P1", client="H-7", currency="GBP", kind="received", amount=Decimal(120), puts=[put]
    )

    (booking,) = book_money(money)

    assert booking.text == "Payment for 2026-00001"
    assert {posting.key.role: posting.amount for posting in booking.postings} == {
        "money": Decimal(120),
        "receivables": Decimal(-120),
    }


def test_money_put_later_waits_as_client_credit():
    put = Put(day=DAY + timedelta(days=9), invoice="2026-00001", amount=Decimal(30))
    money = Money(
        day=DAY, reference="P1", client="H-7", currency="GBP", kind="received", amount=Decimal(50), puts=[put]
    )

    first, second = book_money(money)

    assert [(p.key.role, p.amount) for p in first.postings] == [("money", Decimal(50)), ("client_credit", Decimal(-50))]
    assert [(p.key.role, p.amount) for p in second.postings] == [
        ("client_credit", Decimal(30)),
        ("receivables", Decimal(-30)),
    ]


def test_a_few_pennies_given_up_are_rounding():
    def role(amount):
        put = Put(day=DAY, invoice="2026-00001", amount=amount)
        money = Money(day=DAY, reference="P1", client="H-7", currency="GBP", kind="given_up", amount=amount, puts=[put])
        return book_money(money)[0].postings[0].key.role

    assert (role(Decimal("0.05")), role(Decimal("0.06"))) == ("rounding", "bad_debts")


def test_the_account_that_says_most_is_taken():
    accounts = [
        Account(role="revenue", number="4000", name="Revenue"),
        Account(role="revenue", number="4020", name="Revenue 20 %", rate_percent=Decimal(20)),
        Account(role="money", number="1010", name="Till", method="cash"),
    ]

    assert account_for(AccountKey("revenue", "standard", Decimal("20.000")), accounts)[0] == "4020"
    assert account_for(AccountKey("revenue", "reduced", Decimal(5)), accounts)[0] == "4000"
    assert account_for(AccountKey("money", method="cash"), accounts)[0] == "1010"
    assert account_for(AccountKey("money", method="bank"), accounts) == ("money-bank", "Money, bank")
    assert account_for(AccountKey("tax", "standard", Decimal("20.000")), accounts) == (
        "tax-payable-20",
        "Tax payable, 20 %",
    )
