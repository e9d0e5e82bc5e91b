"""Charge, gather and issue many invoices on a database of their own: ``python -m tests.benchmarks.invoices [--number N]``.

Prints one JSON line: how many, seconds for each step, papers written and seconds for one. Uses a new SQLite file, or the
empty PostgreSQL database that DATABASE_URL names.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any


def main() -> None:
    """Time the steps and print them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--number", type=int, default=500)
    parser.add_argument("--papers", type=int, default=5, help="how many papers to write as well")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VAR_DIR"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
        import django

        django.setup()
        print(json.dumps(run(asked.number, asked.papers)))


def run(number: int, papers: int) -> dict[str, Any]:
    """The steps one after another; jobs are left in their queue."""
    from django.core.management import call_command

    from business.models import Invoice
    from business.services.drafts import draft_invoices
    from business.services.invoices import issue_invoice
    from business.services.papers import write_invoice_paper

    call_command("migrate", verbosity=0)
    seconds: dict[str, float] = {}
    timed(seconds, "charge", lambda: charge_all(number))
    drafts = timed(seconds, "gather", lambda: draft_invoices(until=date(2026, 12, 31)))
    timed(seconds, "issue", lambda: [issue_invoice(invoice=draft, issued_on=date(2026, 4, 1)) for draft in drafts])
    first = list(Invoice.objects.order_by("sequence")[:papers])
    timed(seconds, "papers", lambda: [write_invoice_paper(invoice_id=invoice.pk) for invoice in first])
    return {
        "invoices": Invoice.objects.exclude(state="draft").count(),
        "seconds": seconds,
        "papers": len(first),
        "seconds_a_paper": round(seconds["papers"] / max(len(first), 1), 2),
    }


def charge_all(number: int) -> None:
    """A visit with two materials for each of so many clients."""
    from business.money.pricing import Material
    from business.services.billing import WorkDone, charge_visit
    from tests import make

    make.profile()
    make.price(code="hour")
    wire = Material(text="Wire 2.5 mm", quantity=Decimal(12), unit="metre", unit_cost=Decimal("0.42"))
    for visit in range(number):
        work = WorkDone(
            reference=f"visit:{visit}",
            done_on=date(2026, 3, 12),
            place="Kitchen garden",
            person_minutes=95,
            materials=[wire, wire],
        )
        charge_visit(client=make.client(), work=work)


def timed(seconds: dict[str, float], name: str, act: Callable[[], Any]) -> Any:
    start, used = time.perf_counter(), time.process_time()
    result = act()
    seconds[name] = round(time.perf_counter() - start, 2)
    # What it would take with the machine to itself: a loaded one stretches the wall clock.
    seconds[f"{name}_processor"] = round(time.process_time() - used, 2)
    return result


if __name__ == "__main__":
    main()
