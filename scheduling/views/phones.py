"""What came from phones and needs somebody in the office."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.errors import Refusal
from business.queries import access
from business.views.doors import door, office_only
from scheduling.forms.phones import UnitCostForm
from scheduling.services.field_phones import acts_for_the_office, close_act, field_rows, phones_with_news
from scheduling.services.material_charges import UNPRICED, charge_at

ROWS_ON_A_PAGE = 60
changes_books = door(access.changes_books)


@office_only
def phones(request: HttpRequest) -> HttpResponse:
    return show_phones(request)


def show_phones(request: HttpRequest, *, faults: tuple[object, ...] = ()) -> HttpResponse:
    waiting = acts_for_the_office()
    context = {
        "rows": field_rows(waiting[:ROWS_ON_A_PAGE]),
        "count": waiting.count(),
        "phones": phones_with_news(),
        "faults": faults,
        "unpriced": UNPRICED,
        "cost_form": UnitCostForm(),
        "may_change_books": access.changes_books(request.user),
    }
    return render(request, "scheduling/phones.html", context, status=422 if faults else 200)


@office_only
@require_POST
def close(request: HttpRequest, act_id: int) -> HttpResponse:
    act = get_object_or_404(acts_for_the_office(), pk=act_id)
    close_act(act=act, by=request.user)  # type: ignore[arg-type] # office_only let staff in only
    messages.success(request, "Settled. What was said stays in the visit’s history.")
    return redirect("phones")


@changes_books
@require_POST
def charge(request: HttpRequest, act_id: int) -> HttpResponse:
    """A material without a price: the office says what one unit cost."""
    act = get_object_or_404(acts_for_the_office(), pk=act_id)
    form = UnitCostForm(request.POST)
    if not form.is_valid():
        return show_phones(request, faults=form.as_faults())
    try:
        made = charge_at(act=act, unit_cost=form.cleaned_data["unit_cost"], by=request.user)  # type: ignore[arg-type] # staff only
    except Refusal as refusal:
        return show_phones(request, faults=refusal.faults)
    messages.success(request, f"{made.text} waits to be charged.")
    return redirect("phones")
