"""A visit with its jobs."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.views.doors import office_and_field
from scheduling.documents.pictures import pictures_of_visit
from scheduling.forms.rounds import RanOverForm, UrgentForm
from scheduling.forms.visits import AnswerForm, CallOffForm, FinishForm
from scheduling.queries.access import sees_everything, tasks_open_to, visits_open_to
from scheduling.queries.visits import with_tasks
from scheduling.services import visits as acts
from scheduling.services.field_phones import field_rows, said_on_visit
from scheduling.services.tasks import Answer, answer_task, undo_answer


@office_and_field
def visit(request: HttpRequest, visit_id: int) -> HttpResponse:
    return show_visit(request, visit_id)


def show_visit(
    request: HttpRequest, visit_id: int, *, refusal: Refusal | None = None, finish_form: FinishForm | None = None
) -> HttpResponse:
    found = get_object_or_404(with_tasks(visits_open_to(request.user)), pk=visit_id)
    pictures = pictures_of_visit(found)
    context = {
        "visit": found,
        "pictures": pictures,
        "cautions": list(dict.fromkeys(caution for picture in pictures for caution in picture.cautions)),
        "faults": refusal.faults if refusal else (),
        "finish_form": finish_form or FinishForm(),
        "call_off_form": CallOffForm(),
        "urgent_form": UrgentForm(auto_id="id_urgent_%s"),
        "over_form": RanOverForm(auto_id="id_over_%s"),
        "today": clock.today(found.site.zone),
        "answer_form": AnswerForm(),
        "is_office": sees_everything(request.user),
        "said": field_rows(said_on_visit(found.pk)),
    }
    return render(request, "scheduling/visit.html", context, status=422 if refusal else 200)


@office_and_field
@require_POST
def act(request: HttpRequest, visit_id: int) -> HttpResponse:
    """One act on a visit, named by the button that was pressed."""
    found = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    name = request.POST.get("act", "")
    raw_revision = request.POST.get("revision", "")
    revision = int(raw_revision) if raw_revision.isdigit() else None
    is_office = sees_everything(request.user)
    try:
        if name == "start":
            acts.start_visit(visit_id=found.pk)
        elif name == "finish":
            form = FinishForm(request.POST)
            if not form.is_valid():
                return show_visit(request, visit_id, finish_form=form)
            acts.finish_visit(
                visit_id=found.pk, minutes_taken=form.cleaned_data["minutes"], note=form.cleaned_data["note"]
            )
            messages.success(request, f"The visit to {found.site} is finished.")
        elif name == "call_off":
            acts.call_off_visit(visit_id=found.pk, reason=request.POST.get("reason", ""), revision=revision)
            messages.success(request, f"The visit to {found.site} is called off; its work waits for another visit.")
        elif is_office and name == "confirm":
            acts.confirm_visit(visit_id=found.pk, revision=revision)
        elif is_office and name in ("fix", "free"):
            acts.fix_visit(visit_id=found.pk, is_locked=name == "fix", revision=revision)
        else:
            raise Http404("no such act")
    except Refusal as refusal:
        return show_visit(request, visit_id, refusal=refusal)
    return redirect("visit", visit_id=found.pk) if is_office or name != "call_off" else redirect("today")


@office_and_field
@require_POST
def answer(request: HttpRequest, task_id: int) -> HttpResponse:
    """Done, not done with a reason, or undo."""
    task = get_object_or_404(tasks_open_to(request.user).select_related("work_order"), pk=task_id)
    visit_id = task.work_order.visit_id
    form = AnswerForm(request.POST)
    try:
        if request.POST.get("state") == "open":
            undo_answer(task_id=task.pk)
        elif form.is_valid():
            said = form.cleaned_data
            answer_task(
                task_id=task.pk,
                answer=Answer(state=said["state"], reason=said["reason"], note=said["note"]),
                by=request.user,  # type: ignore[arg-type] # office_and_field let staff in only
            )
    except Refusal as refusal:
        return show_visit(request, visit_id, refusal=refusal)
    if request.headers.get("HX-Request") == "true":
        return show_visit(request, visit_id)
    return redirect(f"/visits/{visit_id}/#task-{task.pk}")
