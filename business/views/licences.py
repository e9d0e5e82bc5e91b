"""Licences, certificates and insurances, and when they end."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from business import clock
from business.errors import Refusal
from business.forms.faults import take
from business.forms.licences import LicenceForm
from business.queries.access import licences_open_to
from business.queries.profile import our_profile
from business.services.licences import save_licence
from business.views.doors import office_only


@office_only
def licences(request: HttpRequest) -> HttpResponse:
    """All of them, the next to end first; and a form for one more."""
    form = LicenceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_licence(**form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.name} is kept; the office is reminded before it ends.")
            return redirect("licences")
    today = clock.today(our_profile().time_zone)
    rows = [
        (row, (row.valid_until - today).days)
        for row in licences_open_to(request.user).order_by("is_dropped", "valid_until")
    ]
    context = {"form": form, "rows": rows, "ended": [row for row, days in rows if days < 0 and not row.is_dropped]}
    return render(request, "business/licences.html", context, status=422 if request.method == "POST" else 200)


@office_only
def licence(request: HttpRequest, licence_id: int) -> HttpResponse:
    found = get_object_or_404(licences_open_to(request.user), pk=licence_id)
    form = LicenceForm(request.POST if request.method == "POST" else None, instance=found)
    if request.method == "POST" and form.is_valid():
        fresh = get_object_or_404(licences_open_to(request.user), pk=licence_id)
        try:
            save_licence(licence=fresh, **form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{fresh.name} is changed.")
            return redirect("licences")
    status = 422 if request.method == "POST" else 200
    return render(request, "business/licence.html", {"form": form, "licence": found}, status=status)
