"""Sites: the list, and one garden on one page."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from business import clock
from business.views.doors import office_only
from gardens.filters import SiteFilter
from gardens.queries.access import sites_for_list, sites_open_to
from gardens.services.pictures import rows_of_site

SITES_ON_A_PAGE = 30


@office_only
def site_list(request: HttpRequest) -> HttpResponse:
    filtered = SiteFilter(request.GET, queryset=sites_for_list(sites_open_to(request.user)).order_by("name", "pk"))
    page = Paginator(filtered.qs, SITES_ON_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "gardens/sites.html", {"filter": filtered, "page": page})


@office_only
def site(request: HttpRequest, site_id: int) -> HttpResponse:
    found = get_object_or_404(sites_open_to(request.user), pk=site_id)
    on = clock.today(found.zone)
    return render(request, "gardens/site.html", {"site": found, "rows": rows_of_site(found, on), "today": on})
