"""The owner's numbers."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from business import clock
from business.queries.access import is_owner
from business.queries.profile import our_profile
from business.views.doors import door
from gardens.queries.access import sites_open_to
from scheduling.forms.rounds import AddedVisitForm
from scheduling.services.owner_numbers import AddedVisit, cost_of_a_visit, owner_numbers

owner_only = door(is_owner)


@owner_only
def numbers(request: HttpRequest) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    first = _day(request.GET.get("from", ""), today)
    sites = sites_open_to(request.user).values_list("pk", "name")
    is_asked = "site" in request.GET
    form = AddedVisitForm(request.GET if is_asked else None, initial={"until": today + timedelta(days=21)}, sites=sites)
    options = None
    if is_asked and form.is_valid():
        said = form.cleaned_data
        until = min(said["until"], today + timedelta(days=60))
        options = cost_of_a_visit(AddedVisit(site_id=said["site"], minutes=said["minutes"], until=until))
    found = owner_numbers(first)
    context = {
        "found": found,
        "kinds": sorted(found.pace.kinds.items()),
        "crews": [
            (found.crew_names.get(crew, "a crew that is gone"), ratio) for crew, ratio in found.pace.crews.items()
        ],
        "drives": [
            (found.drives.gardens.get(each.area, ()), each)
            for each in sorted(found.drives.areas, key=lambda one: -one.trips)
        ],
        "form": form,
        "options": options,
        "before": first - timedelta(days=28),
        "after": first + timedelta(days=28),
    }
    return render(request, "scheduling/numbers.html", context)


def _day(raw: str, otherwise: date) -> date:
    try:
        asked = date.fromisoformat(raw)
    except ValueError:
        return otherwise
    return asked if 1900 <= asked.year <= 2200 else otherwise
