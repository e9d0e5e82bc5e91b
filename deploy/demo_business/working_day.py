"""One invented visit, worked from the first tick to the invoice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from random import Random

from business import clock
from business.models import Staff
from business.queries.invoices import drafts
from business.services.archive import content_of
from business.services.drafts import draft_invoices
from business.services.invoices import issue_invoice
from business.services.papers import mail_invoice, write_invoice_paper
from scheduling.documents.work_orders import work_order_pdf
from scheduling.models import Task, Visit
from scheduling.queries.visits import with_tasks
from scheduling.services.reports import close_finished, write_report
from scheduling.services.tasks import Answer, answer_task
from scheduling.services.visits import finish_visit, start_visit


@dataclass(frozen=True, kw_only=True)
class Papers:
    """Where the papers of the worked visit were written."""

    work_order: Path
    report: Path
    invoice: Path


def work_one_visit(folder: Path, *, by: Staff) -> Papers:
    """Print the first planned visit's work order, work it, report it, charge it, bill it."""
    visit = _first_visit()
    order_path = folder / "work-order.pdf"
    order_path.write_bytes(work_order_pdf(visit))
    began = clock.now() - timedelta(minutes=visit.minutes + 10)
    start_visit(visit_id=visit.pk, at=began)
    _answer(visit, by, began)
    finish_visit(
        visit_id=visit.pk,
        minutes_taken=visit.minutes,
        note="The ties hold well. We took the two lowest ones a little looser.",
    )
    close_finished(visit_id=visit.pk)
    report_path = folder / "visit-report.pdf"
    report_path.write_bytes(content_of(write_report(visit_id=visit.pk).document))
    return Papers(work_order=order_path, report=report_path, invoice=_bill(visit, folder, by))


def _first_visit() -> Visit:
    """The planned visit with the most trees of the first round out: a paper worth looking at."""
    visits = with_tasks(
        Visit.objects.filter(state=Visit.State.PLANNED).select_related("site__client", "round__crew", "season")
    ).order_by("on", "position")[:6]
    # A client charged for the season gets an instalment, not a line for the visit; show the usual case.
    usual = [visit for visit in visits if not visit.site.client.agreements.filter(basis="season_fixed").exists()]
    return max(usual or list(visits), key=lambda visit: len({task.tree_id for task in visit.work_order.tasks.all()}))


def _answer(visit: Visit, by: Staff, began: datetime) -> None:
    random = Random(visit.pk)
    tasks = list(visit.work_order.tasks.all())
    step = timedelta(minutes=visit.minutes / max(1, len(tasks)))
    for number, task in enumerate(tasks, start=1):
        is_left = len(tasks) > 4 and random.random() < 0.08
        answer = (
            Answer(state=Task.State.NOT_DONE, reason=Task.Reason.NOT_READY, note="next time")
            if is_left
            else Answer(state=Task.State.DONE)
        )
        answer_task(task_id=task.pk, answer=answer, by=by, at=began + step * number)


def _bill(visit: Visit, folder: Path, by: Staff) -> Path:
    draft_invoices(until=clock.today(visit.site.zone) + timedelta(days=30), clients=[visit.site.client_id])
    path = folder / "invoice.pdf"
    for draft in drafts(clients=[visit.site.client_id]):
        invoice = issue_invoice(invoice=draft, by=by)
        path.write_bytes(content_of(write_invoice_paper(invoice_id=invoice.pk)))
        mail_invoice(invoice=invoice)
    return path
