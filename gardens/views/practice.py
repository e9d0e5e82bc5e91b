"""How we train: the choices the trade leaves open, each with its reasons; change them, go back to the usual."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from business.errors import Refusal
from business.views.doors import office_only
from gardens.forms.practice import PracticeForm
from gardens.queries.our_units import our_units
from gardens.queries.practice import kept_practice
from gardens.services.practice import keep_practice, train_as_usual
from gardens.services.practice_page import practice_page


@office_only
def practice(request: HttpRequest) -> HttpResponse:
    units = our_units()
    page = practice_page(kept_practice(), units)
    return _shown(request, PracticeForm(page, units), status=200)


def _shown(request: HttpRequest, form: PracticeForm, *, status: int) -> HttpResponse:
    page = practice_page(kept_practice(), our_units())
    return render(request, "gardens/practice.html", {"page": page, "form": form}, status=status)


@office_only
@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    units = our_units()
    form = PracticeForm(practice_page(kept_practice(), units), units, request.POST)
    if form.is_valid():
        try:
            keep_practice(
                choices=form.choices(),
                by=request.user,  # type: ignore[arg-type] # staff only
                reason=form.cleaned_data["reason"],
                seen=form.cleaned_data["seen"] or 0,
            )
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, "We train so from now on. Work the season out again to see what moves.")
            return redirect("practice")
    return _shown(request, form, status=422)


@office_only
@require_POST
def usual(request: HttpRequest) -> HttpResponse:
    try:
        train_as_usual(by=request.user)  # type: ignore[arg-type] # staff only
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, str(fault))
    else:
        messages.success(request, "We train as usual again.")
    return redirect("practice")
