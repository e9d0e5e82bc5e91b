"""Two people at once, on the database this run uses: a SQLite file, or PostgreSQL where DATABASE_URL points at one.

Threads with connections of their own and a common start. On SQLite the test database must be a file (see the fixture):
an in-memory one would be shared by all threads and prove nothing.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, connections

from business.errors import AlreadyDone, Refusal
from business.models import Charge, Invoice, Message, NumberSeries, Payment
from business.queries.clients import balance_of
from business.services.billing import WorkDone, charge_visit
from business.services.drafts import draft_invoices
from business.services.invoices import credit_invoice, issue_invoice
from business.services.messages import queue_message, send_message
from business.services.payments import record_payment, refund
from tests import make
from tests.business.post_office import open_post_office

pytestmark = pytest.mark.django_db(transaction=True)

ISSUED = date(2026, 4, 1)


@pytest.fixture(autouse=True)
def database_of_this_run(tmp_path: Path, django_db_blocker: Any, transactional_db: None):
    """On SQLite, a file in WAL mode beside the in-memory test database; elsewhere, the database as it is."""
    if connection.vendor != "sqlite":
        yield
        return
    kept = connection.settings_dict["NAME"]
    path = tmp_path / "book.sqlite3"
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(path)])
    in_memory = connection.connection
    connection.connection = None
    connections.databases["default"]["NAME"] = str(path)
    connection.settings_dict["NAME"] = str(path)
    connection.connect()
    try:
        yield
    finally:
        connection.close()
        connections.databases["default"]["NAME"] = kept
        connection.settings_dict["NAME"] = kept
        connection.connection = in_memory


@pytest.fixture(autouse=True)
def _no_papers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers are written by jobs after the commit; here they would only take time."""
    monkeypatch.setattr("business.services.invoices.later", lambda name, **arguments: None)


def at_once(acts: list[Callable[[], Any]]) -> list[Any]:
    """Run the acts in threads that start together; results in order, a Refusal in place of a result that was refused."""
    barrier = threading.Barrier(len(acts))
    results: list[Any] = [None] * len(acts)

    def run(place: int, act: Callable[[], Any]) -> None:
        try:
            barrier.wait(timeout=30)
            results[place] = act()
        except Exception as error:  # noqa: BLE001 – handed to the test, which judges it
            results[place] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(place, act)) for place, act in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    broken = [result for result in results if isinstance(result, Exception) and not isinstance(result, Refusal)]
    assert broken == []
    return results


def test_twenty_people_issue_at_once_without_gap_or_double():
    make.profile()
    drafts = [make.draft() for _ in range(20)]

    at_once([partial(issue_invoice, invoice=draft, issued_on=ISSUED) for draft in drafts])

    assert list(Invoice.objects.order_by("sequence").values_list("sequence", flat=True)) == list(range(1, 21))
    assert len(set(Invoice.objects.values_list("number", flat=True))) == 20
    assert NumberSeries.objects.get().last == 20


def test_one_invoice_issued_by_eight_people_gets_one_number():
    make.profile()
    draft = make.draft()

    results = at_once([lambda: issue_invoice(invoice=draft, issued_on=ISSUED)] * 8)

    assert sum(isinstance(result, AlreadyDone) for result in results) == 7
    assert NumberSeries.objects.get().last == 1


def test_an_issue_that_fails_at_the_end_leaves_no_gap(monkeypatch):
    make.profile()
    drafts = [make.draft() for _ in range(6)]
    unlucky = {draft.pk for draft in drafts[::2]}
    from business.services import invoices

    real = invoices._freeze

    def fails_for_some(paper, profile, by):
        if paper.pk in unlucky:
            raise AlreadyDone([])
        real(paper, profile, by)

    monkeypatch.setattr(invoices, "_freeze", fails_for_some)

    at_once([partial(issue_invoice, invoice=draft, issued_on=ISSUED) for draft in drafts])

    issued = Invoice.objects.exclude(state="draft").order_by("sequence")
    assert list(issued.values_list("sequence", flat=True)) == [1, 2, 3]


def test_a_visit_charged_by_eight_workers_is_charged_once():
    make.price(code="hour")
    client = make.client()
    work = WorkDone(reference="visit:17", done_on=date(2026, 3, 12), place="", person_minutes=60)

    at_once([lambda: charge_visit(client=client, work=work)] * 8)

    assert Charge.objects.count() == 1


def test_gathering_by_six_people_puts_each_charge_on_one_draft():
    client = make.client()
    for _ in range(5):
        make.charge(client=client)

    at_once([lambda: draft_invoices(until=date(2030, 1, 1))] * 6)

    draft = Invoice.objects.get()
    assert (draft.lines.count(), draft.net) == (5, Decimal(500))


def test_payments_at_once_pay_no_invoice_twice():
    make.profile(tax_number="")
    client = make.client()
    invoice = make.invoice(client=client, amounts=("100",), issued_on=ISSUED)

    at_once(
        [
            partial(record_payment, client=client, received_on=ISSUED, amount=Decimal(30), key=f"bank:{number % 5}")
            for number in range(10)
        ]
    )

    invoice.refresh_from_db()
    assert Payment.objects.count() == 5
    assert (invoice.paid, balance_of(client, currency="GBP")) == (Decimal(100), Decimal(50))


def test_crediting_and_paying_back_at_once_keep_every_cent():
    make.profile(tax_number="")
    client = make.client()
    invoice = make.invoice(client=client, amounts=("60", "40"), issued_on=ISSUED)
    make.payment(client=client, amount=Decimal(150))
    lines = list(invoice.lines.all())

    credits = [
        partial(credit_invoice, invoice=invoice, reason="x", amounts={line.pk: line.net}, credited_on=ISSUED)
        for line in lines
    ]
    refunds = [
        partial(refund, client=client, paid_on=ISSUED, amount=Decimal(50), key=f"back:{number}") for number in range(4)
    ]
    at_once([*credits, *refunds])

    invoice.refresh_from_db()
    returned = sum(payment.amount for payment in Payment.objects.filter(kind="refund"))
    assert (invoice.credited, invoice.paid) == (Decimal(100), Decimal(0))
    assert returned + balance_of(client, currency="GBP") == 150


def test_one_purpose_queued_by_eight_workers_is_one_message():
    values: dict[str, Any] = {
        "key": "reminder:visit:17:1",
        "kind": "reminder",
        "to": "a@example.com",
        "subject": "s",
        "body": "b",
    }

    results = at_once([lambda: queue_message(**values)] * 8)

    assert {message.pk for message in results} == {Message.objects.get().pk}


def test_eight_workers_send_a_message_once(settings):
    message = make.message()
    Message.objects.filter(pk=message.pk).update(state="waiting", sent_at=None, attempts=0)
    with open_post_office(settings) as office:
        results = at_once([lambda: send_message(message_id=message.pk)] * 8)

    assert (sum(results), len(office.letters)) == (1, 1)
