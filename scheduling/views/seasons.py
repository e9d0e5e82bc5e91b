"""The season: what is due over the year, and how far it is placed."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.profile import our_profile
from business.views.doors import office_only
from gardens.climate import season_year
from scheduling.filters import NeedFilter
from scheduling.queries.board import figures_of, latest_season, needs_of, season_of
from scheduling.services.seasons import plan_season

NEEDS_ON_A_PAGE = 40


def this_season_year() -> int:
    profile = our_profile()
    is_southern = profile.latitude is not None and profile.latitude < 0
    return season_year(clock.today(profile.time_zone), is_southern=is_southern)


@office_only
def latest(request: HttpRequest) -> HttpResponse:
    found = latest_season()
    return redirect("season-year", year=found.year if found else this_season_year())


@office_only
def season(request: HttpRequest, year: int) -> HttpResponse:
    found = season_of(year)
    context: dict[str, object] = {"year": year, "season": found, "today": clock.today(our_profile().time_zone)}
    if found:
        filtered = NeedFilter(request.GET, queryset=needs_of(found).order_by("best_from", "closes", "pk"))
        figures = figures_of(found)
        page = Paginator(filtered.qs, NEEDS_ON_A_PAGE).get_page(request.GET.get("page"))
        context |= {
            "filter": filtered,
            "page": page,
            "figures": figures,
            "tallest_week": max((week.minutes for week in figures.weeks), default=1) or 1,
        }
    return render(request, "scheduling/season.html", context)


@office_only
@require_POST
def plan(request: HttpRequest, year: int) -> HttpResponse:
    if not 1900 <= year <= 2200:
        raise Http404("no such season")
    try:
        outcome = plan_season(year)
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, str(fault))
    else:
        messages.success(
            request,
            f"Season {year} planned: {outcome.needs} needs in {outcome.visits} visits, "
            f"{outcome.unserved} without a visit.",
        )
        if outcome.moved:
            messages.warning(request, f"{outcome.moved}.")
    return redirect("season-year", year=year)
