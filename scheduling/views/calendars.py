"""Calendar addresses of crews, and the files behind them."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from business.views.doors import office_and_field, office_only
from scheduling.queries.access import crews_open_to, sees_everything
from scheduling.services.calendars import calendar_address, calendar_of, crew_behind, end_calendar_address


@office_and_field
def calendars(request: HttpRequest) -> HttpResponse:
    crews = [{"crew": crew, "address": calendar_address(crew)} for crew in crews_open_to(request.user)]
    context = {"crews": crews, "is_office": sees_everything(request.user)}
    return render(request, "scheduling/calendars.html", context)


@office_only
@require_POST
def renew(request: HttpRequest, crew_id: int) -> HttpResponse:
    crew = get_object_or_404(crews_open_to(request.user), pk=crew_id)
    end_calendar_address(crew_id=crew.pk)
    messages.success(request, f"{crew} has a new address. The old one stopped working.")
    return redirect("calendars")


@require_safe
def crew_calendar(request: HttpRequest, token: str) -> HttpResponse:
    """No sign-in: a calendar cannot do that. Whoever holds the address sees days and gardens, no codes or numbers."""
    crew = crew_behind(token)
    if crew is None:
        raise Http404("no such calendar")
    response = HttpResponse(calendar_of(crew), content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = f'inline; filename="{crew.code}.ics"'
    response["Cache-Control"] = "private, max-age=900"
    response["Referrer-Policy"] = "no-referrer"
    return response
