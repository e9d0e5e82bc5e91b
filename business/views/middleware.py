"""Decide who is behind a request, and tell the services."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from asgiref.sync import sync_to_async
from django.http import HttpRequest, HttpResponseBase, HttpResponseForbidden
from django.utils.functional import SimpleLazyObject

from business.queries.access import staff_behind
from business.services.audit import Actor, acting_as
from business.views.requests import sign_in_of

Answer = Callable[[HttpRequest], HttpResponseBase]
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
ACTS_WITHOUT_A_SESSION = "mail-stop"
"""The one address other programs may post to: RFC 8058."""


class WholeSignIn:
    """Stands behind the middleware that reads the session. Pages see only people who are signed in whole."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        def find() -> Any:
            return sign_in_of(request).user

        request.user = SimpleLazyObject(find)  # type: ignore[assignment]
        # The same answer for asynchronous code.
        request.auser = sync_to_async(find)
        return self.answer(request)


class WhoActs:
    """Stands behind the middleware that knows who signed in; asks for the person only if something is written down."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        def find() -> Actor:
            staff = staff_behind(request.user)
            return Actor(words=staff.name, staff=staff) if staff is not None else Actor(words="somebody not signed in")

        with acting_as(find):
            return self.answer(request)


class OwnPagesOnly:
    """Nothing of ours is shown or driven by pages of others (ASVS v5.0.0-3.5.1, 3.5.8).

    Browsers say where a request was made (Fetch Metadata): an act made on another site's page is refused even before
    its form token is looked at, and nothing we send may be built into another site's page.
    """

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        answer = self.answer(request)
        answer.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return answer

    def process_view(self, request: HttpRequest, *_: object) -> HttpResponseBase | None:
        match = request.resolver_match
        if match is not None and match.url_name == ACTS_WITHOUT_A_SESSION:
            return None
        if request.method not in SAFE_METHODS and request.headers.get("Sec-Fetch-Site") == "cross-site":
            return HttpResponseForbidden("This was sent from another site's page. Open ours and try again.\n")
        return None
