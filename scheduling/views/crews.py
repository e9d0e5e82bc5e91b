"""Crews: who goes out together, from where, on which days."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.forms.faults import take
from business.queries.profile import our_profile
from business.views.doors import office_only
from scheduling.forms.crews import CrewDayForm, CrewForm, LayDaysForm
from scheduling.queries.access import all_crews_open_to
from scheduling.queries.crews import days_ahead, people_for_crews, with_people
from scheduling.services.crew_book import CrewSaid, change_day, save_crew, usual_day, version_of
from scheduling.services.crews import lay_shifts

WEEKS_SHOWN = 6


@office_only
def crews(request: HttpRequest) -> HttpResponse:
    found = with_people(all_crews_open_to(request.user))
    return render(request, "scheduling/crews.html", {"crews": found})


def _said(form: CrewForm) -> CrewSaid:
    told = form.cleaned_data
    return CrewSaid(values=form.values(), members=told["members"], lead=told["lead"], seen=told["seen"])


@office_only
def new(request: HttpRequest) -> HttpResponse:
    ours, people = our_profile(), people_for_crews()
    usual = {
        "time_zone": ours.zone,
        "yard_latitude_deg": ours.latitude,
        "yard_longitude_deg": ours.longitude,
        "days": list("01234"),
        "starts": "08:00",
        "ends": "16:30",
    }
    form = CrewForm(request.POST, people=people) if request.method == "POST" else CrewForm(initial=usual, people=people)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_crew(said=_said(form))
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.name} is a crew now. Lay its days below, so that it gets rounds.")
            return redirect("crew", crew_id=made.pk)
    context = {"form": form, "heading": "New crew"}
    return render(request, "scheduling/crew_form.html", context, status=422 if form.errors else 200)


@office_only
def edit(request: HttpRequest, crew_id: int) -> HttpResponse:
    crew = get_object_or_404(with_people(all_crews_open_to(request.user)), pk=crew_id)
    people = people_for_crews()
    shown = CrewForm(initial=CrewForm.initial_of(crew, version_of(crew)), people=people)
    form = CrewForm(request.POST, people=people) if request.method == "POST" else shown
    if request.method == "POST" and form.is_valid():
        try:
            save_crew(said=_said(form), crew=crew)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The crew is stored. Days that are laid already keep their hours.")
            return redirect("crew", crew_id=crew.pk)
    context = {"form": form, "heading": f"Change {crew.name}", "crew": crew}
    return render(request, "scheduling/crew_form.html", context, status=422 if form.errors else 200)


@office_only
def crew(request: HttpRequest, crew_id: int) -> HttpResponse:
    return show_crew(request, crew_id)


def show_crew(request: HttpRequest, crew_id: int, *, lay_form: LayDaysForm | None = None) -> HttpResponse:
    found = get_object_or_404(with_people(all_crews_open_to(request.user)), pk=crew_id)
    today = clock.today(our_profile().time_zone)
    first = _day(request.GET.get("from")) or today
    first -= timedelta(days=first.weekday())
    last = first + timedelta(weeks=WEEKS_SHOWN, days=-1)
    context: dict[str, Any] = {
        "crew": found,
        "weeks": days_ahead(found, first, last),
        "first": first,
        "before": first - timedelta(weeks=WEEKS_SHOWN),
        "after": first + timedelta(weeks=WEEKS_SHOWN),
        "today": today,
        "lay_form": lay_form or LayDaysForm(initial={"first_day": today, "last_day": date(today.year + 1, 12, 31)}),
    }
    is_wrong = lay_form is not None and lay_form.errors
    return render(request, "scheduling/crew.html", context, status=422 if is_wrong else 200)


@office_only
@require_POST
def lay_days(request: HttpRequest, crew_id: int) -> HttpResponse:
    found = get_object_or_404(all_crews_open_to(request.user), pk=crew_id)
    form = LayDaysForm(request.POST)
    if not form.is_valid():
        return show_crew(request, crew_id, lay_form=form)
    first, last = form.cleaned_data["first_day"], form.cleaned_data["last_day"]
    added = lay_shifts(crew=found, first_day=first, last_day=last)
    messages.success(request, f"{added} days are laid; days that were there stay as they are.")
    return redirect("crew", crew_id=found.pk)


@office_only
def day(request: HttpRequest, crew_id: int, on: str) -> HttpResponse:
    found = get_object_or_404(all_crews_open_to(request.user), pk=crew_id)
    when = _day(on)
    if when is None:
        return redirect("crew", crew_id=found.pk)
    shown = CrewDayForm(initial=CrewDayForm.initial_of(usual_day(found, when)))
    form = CrewDayForm(request.POST) if request.method == "POST" else shown
    if request.method == "POST" and form.is_valid():
        try:
            _, left = change_day(crew=found, on=when, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            words = f"{when:%A %d %B} is stored."
            if left:
                words += f" {left} of its visits have nobody now: plan without the crew on the page of rounds."
            messages.success(request, words)
            return redirect("crew", crew_id=found.pk)
    context = {"form": form, "heading": f"{found.name} on {when:%A %d %B %Y}", "crew": found}
    return render(request, "scheduling/crew_form.html", context, status=422 if form.errors else 200)


def _day(said: str | None) -> date | None:
    try:
        return date.fromisoformat(said or "")
    except ValueError:
        return None
