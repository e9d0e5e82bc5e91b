"""The year at a site: this season against the usual one, warnings, and which station speaks for it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.views.doors import office_only
from gardens.forms.weather import StationForm
from gardens.queries.access import sites_open_to
from gardens.services.site_year import site_year
from gardens.services.weather import choose_station, station_choices

FIRST_YEAR, YEARS_AHEAD = 1950, 1


@office_only
def year(request: HttpRequest, site_id: int) -> HttpResponse:
    return show_year(request, site_id)


def show_year(request: HttpRequest, site_id: int, *, form: StationForm | None = None) -> HttpResponse:
    site = get_object_or_404(sites_open_to(request.user), pk=site_id)
    on = clock.today(site.zone)
    wanted = request.GET.get("year", "")
    chosen = int(wanted) if wanted.isdecimal() and FIRST_YEAR <= int(wanted) <= on.year + YEARS_AHEAD else None
    choices = station_choices(site)
    context = {
        "site": site,
        "today": on,
        "page": site_year(site, on, chosen, request.GET.get("species", "")),
        "best": choices[0] if choices and choices[0][1].is_fit else None,
        "form": form or StationForm(choices, site.station_id),
    }
    return render(request, "gardens/site_year.html", context, status=422 if form is not None and form.errors else 200)


@office_only
@require_POST
def station(request: HttpRequest, site_id: int) -> HttpResponse:
    site = get_object_or_404(sites_open_to(request.user), pk=site_id)
    form = StationForm(station_choices(site), site.station_id, request.POST)
    if not form.is_valid():
        return show_year(request, site_id, form=form)
    chosen = form.station_chosen()
    choose_station(site=site, station=chosen)
    messages.success(request, f"Weather from {chosen.name}." if chosen else "Usual values of the place.")
    return redirect("site-year", site_id=site.pk)
