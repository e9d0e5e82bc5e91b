"""Finished visits become reports, mails and charges."""

from __future__ import annotations

from math import ceil

from django.db import transaction

from business import clock
from business.documents.pdf import render
from business.errors import BadInput, Fault
from business.models import Staff
from business.queries.profile import our_profile
from business.services.archive import Paper, archive
from business.services.billing import WorkDone, charge_materials, charge_visit
from business.services.client_links import GARDEN_MARK, STOP_MARK
from business.services.messages import queue_message
from scheduling.documents.reports import report_paper
from scheduling.models import Task, Visit, VisitReport
from scheduling.queries.visits import with_tasks
from scheduling.services.accepted import charge_finished_offers, plant_what_was_ordered, share_by_agreement
from scheduling.services.lost_photos import report_missing
from scheduling.services.material_charges import put_before_the_office, used_on
from scheduling.services.visit_days import day_done


def write_report(*, visit_id: int, by: Staff | None = None) -> VisitReport:
    """Write and keep the report of a finished visit. Asked again, the kept one comes back.

    Raises:
        BadInput: the visit is not finished.
    """
    visit = with_tasks(Visit.objects.select_related("site__client", "round__crew")).get(pk=visit_id)
    if visit.state != Visit.State.FINISHED:
        raise BadInput([Fault(f"visit to {visit.site}", "is not finished", "finish it first")])
    kept = VisitReport.objects.select_related("document").filter(visit=visit).first()
    if kept:
        return kept
    made = report_paper(visit)
    content = render(made.html, paper=made.paper)
    with transaction.atomic():
        # Two people asking at once: the visit's row is the gate, the second finds the first one's report.
        Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
        kept = VisitReport.objects.select_related("document").filter(visit=visit).first()
        if kept:
            return kept
        document = archive(
            Paper(
                kind="visit_report",
                reference=f"visit:{visit.pk}",
                file_name=f"visit-report_{visit.on}_{visit.site.code}.pdf",
                content=content,
            ),
            client=visit.site.client,
            by=by,
        )
        report_missing(
            made.missing, reference=f"visit:{visit.pk}", about=f"the report of {visit.site.name}, {visit.on}"
        )
        return VisitReport.objects.create(visit=visit, document=document, written_at=clock.now())


def send_report(*, visit_id: int) -> None:
    """Mail the report to the client, once."""
    report = write_report(visit_id=visit_id)
    visit = Visit.objects.select_related("site__client").get(pk=visit_id)
    client = visit.site.client
    if not client.email or "visit_report" in client.stopped_kinds:
        return
    profile = our_profile()
    queue_message(
        key=f"visit_report:{visit.pk}",
        kind="visit_report",
        client=client,
        to=client.email,
        subject=f"Our visit to {visit.site.name} on {visit.on:%-d %B}",
        body=(
            f"{client.salutation},\n\n"
            f"we were at {visit.site.name} on {visit.on:%-d %B %Y}. The report with drawings of your trees is attached.\n\n"
            f"All reports, and your trees over the years, are on your garden's page:\n{GARDEN_MARK}\n\n"
            f"{profile.name}\n{profile.phone}\n\n"
            f"No more mails of this kind: {STOP_MARK}\n"
        ),
        documents=[report.document],
        may_repeat=True,
    )


@transaction.atomic
def charge_for(*, visit_id: int) -> int:
    """Charge a finished visit under the client's agreement, once; how many charges there are comes back.

    Jobs that were sold in an offer are charged at the offer's prices, their hours are left out here.
    """
    visit = Visit.objects.select_related("site__client", "round__crew").get(pk=visit_id)
    if visit.state != Visit.State.FINISHED or visit.finished_at is None:
        raise BadInput([Fault(f"visit to {visit.site}", "is not finished", "finish it first")])
    done_on = day_done(visit)
    used = used_on(visit.pk, visit.site.client, done_on)
    put_before_the_office(used.unpriced)
    people = visit.round.crew.size if visit.round else 1
    minutes = visit.minutes_taken or visit.minutes
    done = Task.objects.filter(work_order__visit=visit, state=Task.State.DONE).select_related("need")
    jobs = list(done)
    plant_what_was_ordered(tasks=jobs, done_on=done_on)
    charge_finished_offers(tasks=jobs, done_on=done_on)
    share = share_by_agreement(jobs)
    if not share:
        return 0
    work = WorkDone(
        reference=f"visit:{visit.pk}",
        done_on=done_on,
        place=visit.site.name,
        person_minutes=ceil(minutes * people * share),
        trees=done.exclude(tree=None).values("tree").distinct().count(),
        materials=used.priced,
        visits_before=Visit.objects.filter(
            site__client=visit.site.client,
            state=Visit.State.FINISHED,
            finished_at__lt=visit.finished_at,
            on__year=done_on.year,
        ).count(),
    )
    charges = charge_visit(client=visit.site.client, work=work)
    # What a phone brought after the visit was charged.
    late = charge_materials(client=visit.site.client, work=work)
    return len({charge.pk for charge in (*charges, *late)})


def close_finished(*, visit_id: int) -> None:
    """All that follows a finished visit: charges, report, mail. Each happens once however often this runs."""
    charge_for(visit_id=visit_id)
    send_report(visit_id=visit_id)
