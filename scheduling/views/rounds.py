"""Rounds of a week, and one round."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from business import clock
from business.queries.profile import our_profile
from business.views.doors import office_and_field
from scheduling.documents.loads import loads_of
from scheduling.documents.maps import round_map
from scheduling.forms.rounds import CrewAwayForm, PlanRoundsForm, RainDayForm
from scheduling.queries.access import crews_open_to, plans_open_to, rounds_open_to
from scheduling.queries.plans import latest_plans
from scheduling.queries.visits import (
    next_round_day,
    rounds_between,
    visits_of_round,
    waiting_visits,
    with_counts,
    with_tasks,
)


@office_and_field
def week(request: HttpRequest) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    day = _day(request.GET.get("week", ""), today)
    monday = day - timedelta(days=day.weekday())
    rounds = list(rounds_between(rounds_open_to(request.user), monday, monday + timedelta(days=6)))
    days = sorted({found.on for found in rounds})
    coming = None if rounds else next_round_day(rounds_open_to(request.user), monday)
    context = {
        "monday": monday,
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
        "today": today,
        "rounds": rounds,
        "coming": coming,
        "coming_words": f"Go to {coming:%A} {coming.day} {coming:%B}" if coming else "",
        "coming_link": f"?week={coming.isoformat()}" if coming else "",
        "days": [{"on": on, "rounds": [found for found in rounds if found.on == on]} for on in days],
        "visits": sum(len(found.visits.all()) for found in rounds),
        "drive": sum(found.drive_minutes for found in rounds),
        "waiting": waiting_visits().count(),
        "rain_form": RainDayForm(initial={"day": max(today, monday)}, auto_id="id_rain_%s"),
        "away_form": CrewAwayForm(
            initial={"first_day": max(today, monday), "last_day": max(today, monday)},
            crews=crews_open_to(request.user).values_list("pk", "name"),
            auto_id="id_away_%s",
        ),
        "plans": latest_plans(plans_open_to(request.user)),
        "plan_form": PlanRoundsForm(initial={"first_day": max(today, monday), "last_day": monday + timedelta(days=27)}),
    }
    return render(request, "scheduling/rounds.html", context)


@office_and_field
def round_page(request: HttpRequest, round_id: int) -> HttpResponse:
    found = get_object_or_404(rounds_open_to(request.user), pk=round_id)
    visits = list(with_counts(with_tasks(visits_of_round(found))))
    context = {
        "round": found,
        "visits": visits,
        "map": round_map(found, visits),
        "hazards": [visit for visit in visits if visit.site.hazards],
        "materials": loads_of(visits),
    }
    return render(request, "scheduling/round.html", context)


def _day(raw: str, otherwise: date) -> date:
    try:
        return date.fromisoformat(raw)
    except ValueError:
        return otherwise
