"""Who may open a page. Forbidden and missing look alike (404), so that addresses tell nothing."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Protocol

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponseBase

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
