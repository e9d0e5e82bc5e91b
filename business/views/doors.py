"""Who may open a page. Forbidden and missing look alike (404), so that addresses tell nothing."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Protocol

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers

from business.services.client_links import client_of_session

View = Callable[..., HttpResponseBase]


class Person(Protocol):
    """What a door asks of whoever is signed in."""

    is_office: bool
    is_field: bool


def door(allowed: Callable[[Any], bool]) -> Callable[[View], View]:
    """A decorator that lets people in for whom ``allowed`` is true, after they signed in."""

    def decorate(view: View) -> View:
        @wraps(view)
        def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not allowed(request.user):
                raise Http404("no such page")
            return view(request, *args, **kwargs)

        return login_required(opened)

    return decorate


office_only = door(lambda user: bool(getattr(user, "is_office", False)))
office_and_field = door(lambda user: bool(getattr(user, "is_office", False) or getattr(user, "is_field", False)))
office_and_books = door(
    lambda user: bool(getattr(user, "is_office", False) or getattr(user, "role", "") == "accountant")
)


def unlisted(view: View) -> View:
    """Pages that a link opens: kept by no cache, found by no search."""

    @wraps(view)
    def shown(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        answer = view(request, *args, **kwargs)
        if isinstance(answer, HttpResponse):
            add_never_cache_headers(answer)
        answer.headers.setdefault("X-Robots-Tag", "noindex, nofollow")
        return answer

    return shown


def client_door(view: View) -> View:
    """Lets clients in who came by a link that still stands; the view gets the client as its second argument.

    Who has no such key sees the same page whatever is wrong. The pages keep the usual referrer policy: their addresses
    carry no link, and with "no-referrer" browsers send forms from "null", which the check of tokens must refuse.
    """

    @unlisted
    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        client = client_of_session(request.session)
        if client is None:
            return link_ended(request)
        return view(request, client, *args, **kwargs)

    return opened


def link_ended(request: HttpRequest) -> HttpResponse:
    """Forged, ended, too old, or somebody else's: one page for all."""
    return render(request, "business/link_ended.html", status=404)
