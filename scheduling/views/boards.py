"""The season by weeks and crews, and one day of every crew."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from business import clock
from business.queries.profile import our_profile
from business.views.doors import office_and_field, office_only
from scheduling.queries.access import crews_open_to, sees_everything
from scheduling.services.day_board import day_board
from scheduling.services.season_board import WEEKS, season_board


@office_only
def board(request: HttpRequest) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    first = _day(request.GET.get("from", ""), today)
    span = timedelta(days=7 * WEEKS)
    context = {
        "board": season_board(first, today),
        "today": today,
        "first": first,
        "before": first - span,
        "after": first + span,
    }
    return render(request, "scheduling/board.html", context)


@office_and_field
def day(request: HttpRequest) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    chosen = _day(request.GET.get("day", ""), today)
    days = day_board(crews_open_to(request.user), chosen)
    context = {
        "chosen": chosen,
        "today": today,
        "before": chosen - timedelta(days=1),
        "after": chosen + timedelta(days=1),
        "days": days,
        "visits": sum(len(each.visits) for each in days),
        "is_wet": any(each.is_wet for each in days),
        "is_office": sees_everything(request.user),
        "movable": ("planned", "confirmed"),
    }
    return render(request, "scheduling/day.html", context)


def _day(raw: str, otherwise: date) -> date:
    """The day asked for; far off ones would leave the calendar when a week is taken from them."""
    try:
        asked = date.fromisoformat(raw)
    except ValueError:
        return otherwise
    return asked if 1900 <= asked.year <= 2200 else otherwise
