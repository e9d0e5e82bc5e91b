"""Issued invoices whose paper never came, because the job was lost with its worker or its broker."""

from __future__ import annotations

from datetime import timedelta

from business import clock
from business.jobs import later
from business.models import Invoice

LOOKS_BACK = timedelta(days=30)


def take_up_lost_papers() -> int:
    """Queue the paper of each once more; how many comes back. Two writers at once keep one paper."""
    since = clock.now().date() - LOOKS_BACK
    lost = Invoice.objects.filter(document=None, issued_on__gte=since).exclude(state=Invoice.State.DRAFT)
    numbers = list(lost.order_by("pk").values_list("pk", flat=True)[:200])
    for invoice_id in numbers:
        later("business.tasks.write_invoice_paper", invoice_id=invoice_id)
    return len(numbers)
