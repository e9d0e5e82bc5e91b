"""Gather charges into invoices, issue them, write their papers."""

from __future__ import annotations

import json
import sys
import time
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.management.base import BaseCommand

from business.documents.words import money_text
from business.errors import Refusal
from business.models import Invoice
from business.money.amounts import minor_digits
from business.queries.invoices import drafts
from business.queries.profile import our_profile
from business.services.drafts import draft_invoices
from business.services.invoices import issue_invoice
from business.services.papers import mail_invoice, write_invoice_paper


@dataclass(kw_only=True)
class Outcome:
    """What a run did, as the JSON line tells it."""

    until: str
    currency: str
    drafts: int = 0
    issued: list[dict[str, str]] = field(default_factory=list)
    net: str = "0"
    tax: str = "0"
    gross: str = "0"
    refused: list[dict[str, str]] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)

    def refuse(self, client: str, refusal: Refusal) -> None:
        self.refused += [{"client": client, **asdict(fault)} for fault in refusal.faults]

    @contextmanager
    def timed(self, name: str) -> Iterator[None]:
        start = time.perf_counter()
        yield
        self.seconds[name] = round(time.perf_counter() - start, 2)


class Command(BaseCommand):
    help = (
        "Charge instalments due, put open charges of work done until DATE on invoices, issue them, keep their papers."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--until", type=_day, required=True, metavar="DATE", help="last day of work, like 2026-03-31"
        )
        parser.add_argument("--issued-on", type=_day, metavar="DATE", help="day written on the papers; else today")
        parser.add_argument("--drafts-only", action="store_true", help="gather, but issue nothing")
        parser.add_argument("--mail", action="store_true", help="put the issued papers in the outbox")
        parser.add_argument("--json", action="store_true", help="print one JSON line instead of a table")

    def handle(self, *args: Any, **options: Any) -> None:
        outcome = Outcome(until=options["until"].isoformat(), currency=our_profile().currency)
        issued: list[Invoice] = []
        with outcome.timed("drafts"):
            _gather(options["until"], outcome)
        if not options["drafts_only"]:
            with outcome.timed("issue"):
                issued = _issue(options["issued_on"], outcome)
            with outcome.timed("papers"):
                _write_papers(issued, outcome)
        if options["mail"]:
            _mail(issued, outcome)
        self._print(outcome, as_json=options["json"])
        if outcome.refused:
            sys.exit(2)

    def _print(self, outcome: Outcome, *, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(asdict(outcome), ensure_ascii=False))
            return
        for row in outcome.issued:
            total = money_text(Decimal(row["gross"]), outcome.currency)
            self.stdout.write(f"{row['number']:<16} {row['client']:<40} {total:>14}  {row['paper']}")
        total = money_text(Decimal(outcome.gross), outcome.currency)
        self.stdout.write(f"Drafts gathered: {outcome.drafts}. Invoices issued: {len(outcome.issued)}, over {total}.")
        for fault in outcome.refused:
            self.stderr.write(f"{fault['client']}: {fault['where']}: {fault['wrong']} ({fault['remedy']})")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a day; write it like 2026-03-31") from None


def _plain(amount: Decimal, currency: str) -> str:
    return f"{amount:.{minor_digits(currency)}f}"


def _gather(until: date, outcome: Outcome) -> None:
    try:
        outcome.drafts = len(draft_invoices(until=until))
    except Refusal as refusal:
        outcome.refuse("", refusal)


def _issue(issued_on: date | None, outcome: Outcome) -> list[Invoice]:
    """Every draft, by name of client, so that a run numbers them the same way each time."""
    issued = []
    for draft in drafts().order_by("client__name", "pk"):
        try:
            issued.append(issue_invoice(invoice=draft, issued_on=issued_on))
        except Refusal as refusal:
            outcome.refuse(draft.client.name, refusal)
    in_ours = [invoice for invoice in issued if invoice.currency == outcome.currency]
    for column in ("net", "tax", "gross"):
        total = sum((getattr(invoice, column) for invoice in in_ours), Decimal(0))
        setattr(outcome, column, _plain(total, outcome.currency))
    return issued


def _write_papers(issued: list[Invoice], outcome: Outcome) -> None:
    for invoice in issued:
        paper = ""
        try:
            paper = str(write_invoice_paper(invoice_id=invoice.pk).file.name)
        except Refusal as refusal:
            outcome.refuse(invoice.client.name, refusal)
        outcome.issued.append(
            {
                "number": invoice.number,
                "client": invoice.client.name,
                "gross": _plain(invoice.gross, invoice.currency),
                "currency": invoice.currency,
                "paper": paper,
            }
        )


def _mail(issued: list[Invoice], outcome: Outcome) -> None:
    for invoice in issued:
        try:
            mail_invoice(invoice=invoice)
        except Refusal as refusal:
            outcome.refuse(invoice.client.name, refusal)
