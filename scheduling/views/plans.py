"""A plan: asked for, watched while it is worked out, compared, accepted, dropped, taken back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.views.doors import office_only
from scheduling.forms.rounds import CrewAwayForm, PlanRoundsForm, RainDayForm, RanOverForm, UrgentForm
from scheduling.forms.visits import CallOffForm
from scheduling.queries.access import crews_open_to, plans_open_to, visits_open_to
from scheduling.queries.board import needs_open
from scheduling.queries.plan_runs import run_seen
from scheduling.queries.plans import compare
from scheduling.services import replanning
from scheduling.services.offers import accept_plan, drop_plan, stale_faults
from scheduling.services.plan_runs import clear_run, run_again, start_for_need, start_laying, start_run, stop_run
from scheduling.services.rounds import take_back

ROWS_ON_A_PAGE = 120


@office_only
def plan(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _show(request, plan_id)


def _show(request: HttpRequest, plan_id: int, refusal: Refusal | None = None) -> HttpResponse:
    found = get_object_or_404(plans_open_to(request.user), pk=plan_id)
    faults = refusal.faults if refusal else stale_faults(found) if found.state == "offered" else ()
    seen = run_seen(found, clock.now())
    context = {
        "plan": found,
        "seen": seen,
        "may_again": seen is not None and "made_for_need" not in seen.run.question,
        "compared": compare(found),
        "faults": faults,
        "most": ROWS_ON_A_PAGE,
    }
    return render(request, "scheduling/plan.html", context, status=422 if refusal else 200)


@office_only
@require_POST
def accept(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, accept_plan, "The plan is in force.")


@office_only
@require_POST
def drop(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, drop_plan, "Dropped; everything stays as it was.")


@office_only
@require_POST
def undo(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, take_back, "Taken back; every visit stands where it stood before.")


def _act(request: HttpRequest, plan_id: int, act: Callable[..., Any], words: str) -> HttpResponse:
    found = get_object_or_404(plans_open_to(request.user), pk=plan_id)
    try:
        done = act(plan_id=found.pk)
    except Refusal as refusal:
        return _show(request, plan_id, refusal)
    if words:
        messages.success(request, words)
    return redirect("plan", plan_id=done.pk)


@office_only
def progress(request: HttpRequest, plan_id: int) -> HttpResponse:
    """How far a plan under way is; once it is over the page is loaded whole."""
    found = get_object_or_404(plans_open_to(request.user), pk=plan_id)
    seen = run_seen(found, clock.now())
    if found.state != "running" or seen is None:
        if request.headers.get("HX-Request") == "true":
            return HttpResponse(headers={"HX-Refresh": "true"})
        return redirect("plan", plan_id=found.pk)
    return render(request, "scheduling/_run.html", {"plan": found, "seen": seen})


@office_only
@require_POST
def stop(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, stop_run, "")


@office_only
@require_POST
def clear(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, clear_run, "Cleared; everything stays as it was.")


@office_only
@require_POST
def again(request: HttpRequest, plan_id: int) -> HttpResponse:
    return _act(request, plan_id, run_again, "")


@office_only
@require_POST
def lay(request: HttpRequest) -> HttpResponse:
    """Have rounds laid anew."""
    return _ask(
        request,
        PlanRoundsForm(request.POST),
        lambda said: start_laying(
            first_day=said["first_day"],
            last_day=said["last_day"],
            seconds=said["seconds"],
            by=request.user,  # type: ignore[arg-type] # office_only let staff in only
        ),
    )


@office_only
@require_POST
def rain(request: HttpRequest) -> HttpResponse:
    return _ask(request, RainDayForm(request.POST), lambda said: _run(request, kind="rain", day=said["day"]))


@office_only
@require_POST
def away(request: HttpRequest) -> HttpResponse:
    form = CrewAwayForm(request.POST, crews=crews_open_to(request.user).values_list("pk", "name"))
    return _ask(
        request,
        form,
        lambda said: _run(
            request,
            kind="away",
            crew=said["crew"],
            first_day=said["first_day"],
            last_day=said["last_day"],
            reason=said["reason"],
        ),
    )


@office_only
@require_POST
def called_off(request: HttpRequest, visit_id: int) -> HttpResponse:
    """Call a visit off and see what the gap is good for."""
    found = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    raw = request.POST.get("revision", "")
    return _ask(
        request,
        CallOffForm(request.POST),
        lambda said: replanning.visit_called_off(
            visit_id=found.pk,
            reason=said["reason"],
            revision=int(raw) if raw.isdigit() else None,
            by=request.user,  # type: ignore[arg-type] # office_only let staff in only
        ),
        back=("visit", found.pk),
        nothing=f"The visit to {found.site} is called off. Nothing else has to change.",
    )


@office_only
@require_POST
def urgent(request: HttpRequest, visit_id: int) -> HttpResponse:
    found = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    return _ask(
        request,
        UrgentForm(request.POST),
        lambda said: _run(request, kind="urgent", visit=found.pk, until=said["until"]),
        back=("visit", found.pk),
    )


@office_only
@require_POST
def urgent_need(request: HttpRequest, need_id: int) -> HttpResponse:
    need = get_object_or_404(needs_open(), pk=need_id)
    return _ask(
        request,
        UrgentForm({}),
        lambda said: start_for_need(need_id=need.pk, by=request.user),  # type: ignore[arg-type]
        back=("season-year", need.season.year),
    )


@office_only
@require_POST
def ran_over(request: HttpRequest, visit_id: int) -> HttpResponse:
    found = get_object_or_404(visits_open_to(request.user), pk=visit_id)
    return _ask(
        request,
        RanOverForm(request.POST),
        lambda said: _run(request, kind="over", visit=found.pk, until=said["until"]),
        back=("visit", found.pk),
    )


def _run(request: HttpRequest, **question: object) -> Any:
    """Queue the question, days and times in ISO form."""
    said = {key: value.isoformat() if isinstance(value, date | time) else value for key, value in question.items()}
    return start_run(question=said, by=request.user)  # type: ignore[arg-type] # office_only let staff in only


def _ask(
    request: HttpRequest,
    form: forms.Form,
    ask: Callable[[dict[str, Any]], Any],
    *,
    back: tuple[str, int] | None = None,
    nothing: str = "",
) -> HttpResponse:
    """Ask for an offer and go to its page; what is wrong is told where the form stood."""
    home = redirect(back[0], back[1]) if back else redirect("rounds")
    if not form.is_valid():
        for name, errors in form.errors.items():
            label = form.fields[name].label if name in form.fields else name
            messages.error(request, f"{label}: {' '.join(str(error) for error in errors)}")
        return home
    try:
        offered = ask(form.cleaned_data)
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, str(fault))
        return home
    if offered is None:
        messages.success(request, nothing)
        return home
    return redirect("plan", plan_id=offered.pk)
