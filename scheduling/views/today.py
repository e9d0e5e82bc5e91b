"""The morning board."""

from __future__ import annotations

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from business import clock
from business.queries.profile import our_profile
from business.views.doors import office_and_field
from scheduling.queries import board as morning
from scheduling.queries.access import rounds_open_to, sees_everything
from scheduling.queries.door import asks_to_settle
from scheduling.queries.visits import rounds_between
from scheduling.services.field_phones import acts_for_the_office


@office_and_field
def board(request: HttpRequest) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    context: dict[str, object] = {
        "today": today,
        "rounds": rounds_between(rounds_open_to(request.user), today, today),
        "next_rounds": rounds_between(
            rounds_open_to(request.user), today + timedelta(days=1), today + timedelta(days=90)
        )[:4],
    }
    if sees_everything(request.user):
        closing = morning.windows_closing(today)
        context |= {
            "closing": closing[:8],
            "closing_count": closing.count(),
            "unreported": morning.finished_without_report()[:8],
            "unplaced": morning.unplaced()[:5],
            "unplaced_count": morning.unplaced().count(),
            "season": morning.latest_season(),
            "phone_count": acts_for_the_office().count(),
            "asks": asks_to_settle()[:8],
        }
    return render(request, "scheduling/today.html", context)
