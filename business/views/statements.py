"""Statements of account: seen, printed, mailed."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from business import clock
from business.documents.statements import statement_paper
from business.errors import Refusal
from business.forms.late import PeriodForm
from business.queries import access
from business.queries.profile import our_profile
from business.queries.statements import currencies_of, statement_of
from business.services.statements import mail_statement, statement_paper_of
from business.views.doors import door

books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


def usual_period() -> dict[str, Any]:
    """From the first day of the year to today, in our currency."""
    ours = our_profile()
    today = clock.today(ours.time_zone)
    return {"since": date(today.year, 1, 1), "until": today, "currency": ours.currency}


@books_only
def statement(request: HttpRequest, client_id: int) -> HttpResponse:
    return show_statement(request, client_id)


def show_statement(request: HttpRequest, client_id: int, *, refusal: Refusal | None = None) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    asked = request.POST or request.GET
    currencies = currencies_of(found)
    form = PeriodForm(asked if "since" in asked else None, currencies=currencies, initial=usual_period())
    said = form.cleaned_data if form.is_bound and form.is_valid() else None if form.is_bound else usual_period()
    context: dict[str, Any] = {
        "client": found,
        "form": form,
        "faults": refusal.faults if refusal else (),
        "may_change_books": access.changes_books(request.user),
    }
    if said:
        context["paper"] = statement_paper(statement_of(found, **said), said["currency"])
        context["period"] = urlencode({name: str(value) for name, value in said.items()})
        context["said"] = said
    wrong = refusal is not None or bool(form.errors)
    return render(request, "business/statement.html", context, status=422 if wrong else 200)


@books_only
def paper(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    form = PeriodForm(request.GET if "since" in request.GET else usual_period(), currencies=currencies_of(found))
    if not form.is_valid():
        return show_statement(request, client_id)
    made = statement_paper_of(client=found, **form.cleaned_data)
    response = HttpResponse(made.content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{made.file_name}"'
    return response


@changes_books
@require_POST
def mail(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    form = PeriodForm(request.POST, currencies=currencies_of(found))
    if not form.is_valid():
        return show_statement(request, client_id)
    try:
        sent = mail_statement(client=found, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
    except Refusal as refusal:
        return show_statement(request, client_id, refusal=refusal)
    messages.success(request, f"In the outbox for {', '.join(message.to for message in sent)}.")
    period = urlencode({name: str(value) for name, value in form.cleaned_data.items()})
    return redirect(f"{reverse('client-statement', args=[found.pk])}?{period}")
