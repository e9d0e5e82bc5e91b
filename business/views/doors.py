"""Who may open a page. Forbidden and missing look alike (404), so that addresses tell nothing."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Protocol

from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import add_never_cache_headers

from business.services import sessions
from business.services.client_links import client_of_session
from business.views.requests import sign_in_of

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
everybody_here = door(lambda user: bool(user.is_authenticated and user.is_active))


def proved_lately(view: View) -> View:
    """For grave acts: asks for the password again if the last time was a while ago (ASVS v5.0.0-7.5.1, 7.5.3)."""

    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not sessions.is_proved(request.session, while_filling_in=request.method == "POST"):
            # What was typed is lost with an old form; its page opens again after the password.
            return redirect_to_login(request.get_full_path(), reverse("prove"))
        return view(request, *args, **kwargs)

    return opened


def for_setting_up(view: View) -> View:
    """The page that sets up a second factor: also for those whom nothing else opens before they have one.

    The view gets the person as its second argument.
    """

    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        found = sign_in_of(request)
        if found.staff is None or found.waiting_for == "code":
            return redirect_to_login(request.get_full_path())
        return view(request, found.staff, *args, **kwargs)

    return opened


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
