"""Statements of account: every balance follows from what moved, and open papers add up to it."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.statements import Entry, Settling, state

JANUARY, FEBRUARY, MARCH = date(2026, 1, 10), date(2026, 2, 10), date(2026, 3, 10)


def invoice(on: date, amount: int, key: int = 1) -> Entry:
    return Entry(
        on=on, kind="invoice", text=f"Invoice {key}", amount=Decimal(amount), key=key, due_on=on + timedelta(days=30)
    )


def payment(on: date, amount: int) -> Entry:
    return Entry(on=on, kind="payment", text="Payment", amount=Decimal(amount))


def test_what_moved_before_stands_in_the_opening():
    found = state([invoice(JANUARY, 100), payment(FEBRUARY, 40)], [], since=FEBRUARY, until=MARCH)
    assert (found.opening, found.closing) == (100, 60)
    assert [(row.entry.kind, row.balance) for row in found.rows] == [("payment", 60)]


def test_open_papers_are_named_with_their_age():
    moves = [invoice(JANUARY, 100, 1), invoice(MARCH, 50, 2), payment(FEBRUARY, 40)]
    paid = [Settling(invoice=1, on=FEBRUARY, amount=Decimal(40))]
    found = state(moves, paid, since=JANUARY, until=date(2026, 3, 31))
    # Due on 9 February: 50 days late on 31 March. The other one is due on 9 April.
    assert [(item.text, item.open_amount, item.days_late, item.age) for item in found.open_items] == [
        ("Invoice 1", 60, 50, 2),
        ("Invoice 2", 50, -9, 0),
    ]
    assert list(found.by_age) == [50, 0, 60, 0, 0]
    assert (found.closing, found.in_advance) == (110, 0)


def test_what_is_not_put_to_a_paper_counts_as_paid_in_advance():
    found = state([invoice(JANUARY, 100), payment(FEBRUARY, 40)], [], since=JANUARY, until=MARCH)
    assert (found.open_amount, found.in_advance, found.closing) == (100, 40, 60)


def test_what_came_after_the_last_day_is_left_aside():
    paid = [Settling(invoice=1, on=MARCH, amount=Decimal(100))]
    found = state([invoice(JANUARY, 100), payment(MARCH, 100)], paid, since=JANUARY, until=FEBRUARY)
    assert (found.closing, found.open_amount) == (100, 100)


def test_a_period_that_ends_before_it_begins_is_refused():
    with pytest.raises(ValueError, match="ends before"):
        state([], [], since=MARCH, until=FEBRUARY)


moves = st.lists(
    st.builds(
        Entry,
        on=st.dates(date(2025, 1, 1), date(2026, 12, 31)),
        kind=st.sampled_from(["invoice", "credit_note", "payment", "refund", "given_up", "asked_again"]),
        text=st.just("x"),
        amount=st.decimals("0.01", "9999", places=2),
        key=st.integers(1, 9),
    ),
    max_size=20,
)


@given(moves, st.dates(date(2025, 1, 1), date(2026, 12, 31)), st.integers(0, 400))
def test_balances_always_follow_from_the_movements(entries, since, days):
    until = since + timedelta(days=days)
    found = state(entries, [], since=since, until=until)
    moved = sum((row.entry.signed for row in found.rows), Decimal(0))
    assert found.closing == found.opening + moved
    assert found.open_amount - found.in_advance == found.closing
    assert sum(found.by_age) == found.open_amount
    # A statement over everything closes with the same balance.
    assert state(entries, [], since=date(2020, 1, 1), until=until).closing == found.closing


@given(moves, st.dates(date(2025, 1, 1), date(2026, 6, 30)))
def test_one_statement_begins_where_the_last_one_closed(entries, cut):
    first = state(entries, [], since=date(2020, 1, 1), until=cut)
    second = state(entries, [], since=cut + timedelta(days=1), until=date(2027, 1, 1))
    assert second.opening == first.closing
