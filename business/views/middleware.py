"""Tell the services who is behind a request."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

from business.queries.access import staff_behind
from business.services.audit import Actor, acting_as


class WhoActs:
    """Stands behind the middleware that knows who signed in; asks for the person only if something is written down."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        def find() -> Actor:
            staff = staff_behind(request.user)
            return Actor(words=staff.name, staff=staff) if staff is not None else Actor(words="somebody not signed in")

        with acting_as(find):
            return self.answer(request)
