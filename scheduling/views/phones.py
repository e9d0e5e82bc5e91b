"""What came from phones and needs somebody in the office."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.views.doors import office_only
from scheduling.services.field_phones import acts_for_the_office, close_act, field_rows, phones_with_news

ROWS_ON_A_PAGE = 60


@office_only
def phones(request: HttpRequest) -> HttpResponse:
    waiting = acts_for_the_office()
    context = {
        "rows": field_rows(waiting[:ROWS_ON_A_PAGE]),
        "count": waiting.count(),
        "phones": phones_with_news(),
    }
    return render(request, "scheduling/phones.html", context)


@office_only
@require_POST
def close(request: HttpRequest, act_id: int) -> HttpResponse:
    act = get_object_or_404(acts_for_the_office(), pk=act_id)
    close_act(act=act, by=request.user)  # type: ignore[arg-type] # office_only let staff in only
    messages.success(request, "Settled. What was said stays in the visit’s history.")
    return redirect("phones")
