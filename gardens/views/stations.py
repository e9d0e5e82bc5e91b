"""Weather stations: the list, one station with its gaps, bringing daily values in."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.profile import our_profile
from business.views.doors import office_only
from gardens.forms.weather import NewStationForm, WeatherFileForm
from gardens.queries.weather import stations_for_list
from gardens.services.weather import WeatherImport, add_station, gaps_of, import_weather

SITES_ON_A_PAGE = 30


@office_only
def stations(request: HttpRequest) -> HttpResponse:
    return show_stations(request)


def show_stations(request: HttpRequest, *, form: NewStationForm | None = None) -> HttpResponse:
    context = {"stations": stations_for_list(), "form": form or NewStationForm()}
    return render(request, "gardens/stations.html", context, status=422 if form is not None and form.errors else 200)


@office_only
@require_POST
def new(request: HttpRequest) -> HttpResponse:
    form = NewStationForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        try:
            station = add_station(code=said["code"], name=said["name"], place=form.place())
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, "The station is there; bring its days in.")
            return redirect("station", station_id=station.pk)
    return show_stations(request, form=form)


@office_only
def station(request: HttpRequest, station_id: int) -> HttpResponse:
    return show_station(request, station_id)


def show_station(
    request: HttpRequest, station_id: int, *, form: WeatherFileForm | None = None, brought: WeatherImport | None = None
) -> HttpResponse:
    found = get_object_or_404(stations_for_list(), pk=station_id)
    context = {
        "station": found,
        "gaps": gaps_of(found),
        "sites": Paginator(found.sites.select_related("client").order_by("name", "pk"), SITES_ON_A_PAGE).get_page(
            request.GET.get("page")
        ),
        "form": form or WeatherFileForm(),
        "brought": brought,
    }
    return render(request, "gardens/station.html", context, status=422 if form is not None and form.errors else 200)


@office_only
@require_POST
def bring(request: HttpRequest, station_id: int) -> HttpResponse:
    found = get_object_or_404(stations_for_list(), pk=station_id)
    form = WeatherFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return show_station(request, station_id, form=form)
    data, choices = form.data_and_choices()
    try:
        brought = import_weather(station=found, data=data, choices=choices, today=clock.today(our_profile().time_zone))
    except Refusal as refusal:
        form.take(refusal)
        return show_station(request, station_id, form=form)
    return show_station(request, station_id, brought=brought)
