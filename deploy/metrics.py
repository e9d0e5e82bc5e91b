"""Figures for whatever watches the program, as text: ``/metrics``, off until METRICS_TOKEN is set.

Written in the OpenMetrics 1.0 text format (openmetrics.io; IETF draft-richih-opsawg-openmetrics). Requests are counted
by the middleware below under the name of the address, never under the address itself: that holds numbers of clients,
and keys. Open to ``Authorization: Bearer METRICS_TOKEN`` and to a signed-in owner; to anybody else there is no such page.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from hmac import compare_digest
from pathlib import Path

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from deploy import figures
from deploy.counters import Counters, sums

CONTENT_TYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"
LIMITS = (0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Upper ends of the classes of durations [s]; the last class has none."""
PAGES = {
    "deploy": "watching",
    "scheduling.field": "field",
    "scheduling.views.door": "door",
    "business.views.links": "door",
    "scheduling.views.papers": "papers",
    "django.contrib.auth": "sign-in",
    "business.views.people": "people",
}
"""Classes of pages by the module of their view; the first part of the module for all others."""


def folder() -> Path:
    return Path(settings.VAR) / "counters"


class CountRequests:
    """Counts every request once it is answered, with its status and how long it took."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.answer = answer
        self.counters = Counters(folder())
        self.is_on = bool(settings.METRICS_TOKEN)

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if not self.is_on:
            return self.answer(request)
        began = time.monotonic()
        response = self.answer(request)
        seconds = time.monotonic() - began
        pages, name = _page_of(request)
        method = request.method if request.method in {"GET", "HEAD", "POST", "PUT", "DELETE"} else "other"
        labels = f'pages="{pages}",name="{name}",method="{method}",status="{response.status_code}"'
        self.counters.add(f"requests{{{labels}}}")
        limit = next((str(limit) for limit in LIMITS if seconds <= limit), "+Inf")
        self.counters.add(f'in_class{{pages="{pages}",le="{limit}"}}')
        self.counters.add(f'seconds{{pages="{pages}"}}', seconds)
        return response


def _page_of(request: HttpRequest) -> tuple[str, str]:
    """(class of pages, name of the address); what no address fits, and files, have classes of their own."""
    match = request.resolver_match
    if match is None:
        return ("files" if request.path.startswith(f"/{settings.STATIC_URL.lstrip('/')}") else "none"), "-"
    module = getattr(match.func, "__module__", "")
    pages = next((pages for start, pages in PAGES.items() if module.startswith(start)), module.partition(".")[0])
    return pages, match.url_name or "-"


@require_safe
@never_cache
def metrics(request: HttpRequest) -> HttpResponse:
    if not _may_see(request):
        raise Http404("no such page")
    return HttpResponse("".join(_text(sums(folder()))), content_type=CONTENT_TYPE)


def _may_see(request: HttpRequest) -> bool:
    token = settings.METRICS_TOKEN
    if not token:
        return False
    given = request.headers.get("Authorization", "").removeprefix("Bearer ")
    return compare_digest(given.encode(), token.encode()) or getattr(request.user, "role", "") == "owner"


def _text(counted: Mapping[str, float]) -> Iterator[str]:
    yield from _family("fruit_requests", "counter", "Requests answered, by page and status.", _requests(counted))
    yield from _family("fruit_request_seconds", "histogram", "How long answers took.", _durations(counted), "seconds")
    for family in figures.standing():
        yield from _family(family.name, "gauge", family.help, family.samples, family.unit)
    yield "# EOF\n"


def _family(name: str, kind: str, words: str, samples: Iterable[str], unit: str = "") -> Iterator[str]:
    yield f"# TYPE {name} {kind}\n"
    if unit:
        yield f"# UNIT {name} {unit}\n"
    yield f"# HELP {name} {words}\n"
    yield from (f"{name}{sample}\n" for sample in samples)


def _requests(counted: Mapping[str, float]) -> Iterator[str]:
    for name, value in sorted(counted.items()):
        if name.startswith("requests{"):
            yield f"_total{name.removeprefix('requests')} {value:.0f}"


def _durations(counted: Mapping[str, float]) -> Iterator[str]:
    for name in sorted(counted):
        if not name.startswith("seconds{"):
            continue
        pages = name.removeprefix('seconds{pages="').removesuffix('"}')
        so_far = 0.0
        for limit in (*(str(limit) for limit in LIMITS), "+Inf"):
            so_far += counted.get(f'in_class{{pages="{pages}",le="{limit}"}}', 0.0)
            yield f'_bucket{{pages="{pages}",le="{limit}"}} {so_far:.0f}'
        yield f'_count{{pages="{pages}"}} {so_far:.0f}'
        yield f'_sum{{pages="{pages}"}} {counted[name]:.6f}'
