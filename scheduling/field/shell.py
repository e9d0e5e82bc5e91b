"""The frame of the field page, its manifest, and the worker that keeps both on the phone."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from business.queries.profile import our_profile
from business.views.doors import office_and_field

MODULES = (
    "app",
    "acts",
    "clock",
    "dom",
    "fold",
    "measure",
    "pack",
    "photos",
    "sender",
    "signature",
    "status",
    "stop",
    "store",
    "today",
    "tree",
    "waiting",
    "words",
    "vendor/idb",
)
FONTS = ("400", "700")
KEPT = (
    *(f"scheduling/field/{name}.js" for name in MODULES),
    "scheduling/field/field.css",
    "business/fonts.css",
    "business/icons.svg",
    "business/mark.svg",
    *(f"business/fonts/atkinson-hyperlegible-next-latin-{weight}-normal.woff2" for weight in FONTS),
)
"""Everything the page needs without a network, besides its own address."""


@office_and_field
@never_cache
@ensure_csrf_cookie
@require_GET
def page(request: HttpRequest) -> HttpResponse:
    """The frame: the same bytes for everybody, so that a phone may keep it."""
    return render(request, "scheduling/field/page.html")


@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, with the list of what it keeps and the version that list makes."""
    shell = {"version": shell_version(), "page": reverse("field-today"), "files": [static(name) for name in KEPT]}
    answer = HttpResponse(
        f"self.SHELL = {json.dumps(shell)};\n{_text('scheduling/field/worker.js')}", content_type="text/javascript"
    )
    answer["Cache-Control"] = "no-cache"
    answer["Service-Worker-Allowed"] = reverse("field-today")
    return answer


@require_GET
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone needs to put the page on its home screen."""
    start = reverse("field-today")
    return JsonResponse(
        {
            "name": f"{our_profile().name or 'Trained fruit'}: on the round",
            "short_name": "Round",
            "id": start,
            "start_url": start,
            "scope": start,
            "display": "standalone",
            "orientation": "any",
            "background_color": "#ffffff",
            "theme_color": "#1a5235",
            "icons": [
                {"src": static("business/mark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
                {"src": static("business/mark.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "maskable"},
            ],
        },
        content_type="application/manifest+json",
    )


def shell_version() -> str:
    """Changes whenever a kept file or the frame changes."""
    found = hashlib.sha256(render_to_string("scheduling/field/page.html").encode())
    for name in (*KEPT, "scheduling/field/worker.js"):
        found.update(_bytes(name, Path(_place(name)).stat().st_mtime_ns))
    return found.hexdigest()[:16]


def _place(name: str) -> str:
    place = finders.find(name)
    if not isinstance(place, str):
        raise Http404(f"{name} is not among the static files")
    return place


@cache
def _bytes(name: str, changed_at: int) -> bytes:
    return Path(_place(name)).read_bytes()


def _text(name: str) -> str:
    return Path(_place(name)).read_text(encoding="utf-8")
