"""A visit put elsewhere by hand, with the answer before it is stored."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.errors import Fault, Refusal
from business.views.doors import office_only
from scheduling.forms.rounds import MoveForm
from scheduling.queries.access import crews_open_to, visits_open_to
from scheduling.services.moves import MoveAnswer, Wanted, answer_move, move_visit, neighbours

STEPS = {"earlier": -1, "later": 1}


@office_only
def move(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Ask where to, check as often as wanted, then store."""
    visit = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    crews = list(crews_open_to(request.user).values_list("pk", "name"))
    is_asked = request.method == "POST"
    form = MoveForm(request.POST if is_asked else None, initial=_initial(visit), crews=crews)
    answer: MoveAnswer | None = None
    faults: tuple[Fault, ...] = ()
    if is_asked and form.is_valid():
        said = form.cleaned_data
        wanted = Wanted(crew_id=said["crew"], day=said["day"], position=said["position"])
        try:
            if request.POST.get("act") == "move":
                done = move_visit(
                    visit_id=visit.pk,
                    wanted=wanted,
                    revision=_revision(request),
                    by=request.user,  # type: ignore[arg-type] # office_only let staff in only
                )
                messages.success(request, f"{visit.site} is moved.")
                return redirect("plan", plan_id=done.pk)
            answer = answer_move(visit_id=visit.pk, wanted=wanted)
        except Refusal as refusal:
            faults = refusal.faults
    context = {"visit": visit, "form": form, "answer": answer, "faults": faults}
    if request.headers.get("HX-Request") == "true":
        return render(request, "scheduling/_move_answer.html", context)
    is_wrong = bool(faults) or bool(form.errors) or (answer is not None and not answer.is_allowed)
    return render(request, "scheduling/move.html", context, status=422 if is_wrong else 200)


@office_only
@require_POST
def nudge(request: HttpRequest, visit_id: int) -> HttpResponse:
    """One place earlier or later in its round."""
    visit = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    step = STEPS.get(request.POST.get("step", ""))
    if step is None:
        raise Http404("no such step")
    try:
        wanted = neighbours(visit, step)
        move_visit(
            visit_id=visit.pk,
            wanted=wanted,
            revision=_revision(request),
            by=request.user,  # type: ignore[arg-type] # office_only let staff in only
        )
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, f"{fault.where} stays: {fault.wrong}; {fault.remedy}.")
    return redirect(f"/rounds/day/?day={visit.on}#visit-{visit.pk}" if visit.on else "/rounds/")


def _initial(visit: object) -> dict[str, object]:
    found = getattr(visit, "round", None)
    crew = found.crew_id if found else getattr(visit, "preferred_crew_id", None)
    return {"crew": crew, "day": getattr(visit, "on", None) or getattr(visit, "best_from", None)}


def _revision(request: HttpRequest) -> int | None:
    raw = request.POST.get("revision", "")
    return int(raw) if raw.isdigit() else None
