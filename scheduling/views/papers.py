"""Papers as downloads."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from business.services.archive import content_of
from business.views.doors import office_and_field, office_only
from scheduling.documents.round_sheet import round_sheet_pdf
from scheduling.documents.work_orders import work_order_pdf
from scheduling.queries.access import rounds_open_to, visits_open_to
from scheduling.queries.visits import visits_of_round, with_tasks
from scheduling.services.reports import write_report


def _pdf(content: bytes, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


@office_and_field
def work_order(request: HttpRequest, visit_id: int) -> HttpResponse:
    visit = get_object_or_404(with_tasks(visits_open_to(request.user)), pk=visit_id)
    if getattr(visit, "work_order", None) is None:
        raise Http404("this visit has no jobs")
    return _pdf(work_order_pdf(visit), f"work-order_{visit.on or 'no-day'}_{visit.site.code}.pdf")


@office_and_field
def round_sheet(request: HttpRequest, round_id: int) -> HttpResponse:
    found = get_object_or_404(rounds_open_to(request.user), pk=round_id)
    visits = list(with_tasks(visits_of_round(found)))
    return _pdf(round_sheet_pdf(found, visits), f"round_{found.on}_{found.crew.code}.pdf")


@office_only
def report(request: HttpRequest, visit_id: int) -> HttpResponse:
    visit = get_object_or_404(visits_open_to(request.user).filter(state="finished"), pk=visit_id)
    kept = write_report(visit_id=visit.pk).document
    return _pdf(content_of(kept), kept.file_name)
