"""Who may talk to the field page: JSON answers where a page would send people to the sign-in form.

A script cannot use a redirect to a form, and a form that arrives as 200 text/html must never pass for a receipt.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponseBase, JsonResponse

from business.models import Staff
from business.views.requests import sign_in_of

View = Callable[..., HttpResponseBase]


def for_the_field(view: View) -> View:
    """Lets office and field people in; others get a problem as JSON with 401 or 404."""

    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        user = request.user
        if not user.is_authenticated:
            if sign_in_of(request).waiting_for:
                return problem(401, "second-step", "The code of the second factor is missing")
            return problem(401, "sign-in", "Sign in to go on")
        if not (user.is_active and (user.is_office or user.is_field)):
            return problem(404, "not-here", "There is nothing here for you")
        return view(request, *args, **kwargs)

    return opened


def person_of(request: HttpRequest) -> Staff:
    """Whoever came through the door."""
    assert isinstance(request.user, Staff)  # noqa: S101 - the door let staff in only
    return request.user


def problem(status: int, kind: str, title: str, detail: str = "") -> JsonResponse:
    """A refusal as RFC 9457 words it."""
    body = {"type": f"urn:field-problem:{kind}", "title": title, "status": status, "detail": detail}
    answer = JsonResponse(body, status=status, content_type="application/problem+json")
    answer["Cache-Control"] = "no-store"
    return answer
