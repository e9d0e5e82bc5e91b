"""A number for every request: in every line of the log and in the answer, so that the two can be brought together."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

HEADER = "X-Request-ID"
SHAPE = re.compile(r"[0-9A-Za-z-]{8,64}")

current_request: ContextVar[str] = ContextVar("request id", default="-")


class RequestIds:
    """Takes the number that our proxy gave, or makes one. A visitor's own number is not believed without a proxy."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        given = request.headers.get(HEADER, "") if settings.BEHIND_PROXY else ""
        number = given if SHAPE.fullmatch(given) else uuid.uuid4().hex
        request.number = number  # type: ignore[attr-defined]  # read by deploy.logs
        token = current_request.set(number)
        try:
            response = self.answer(request)
        finally:
            current_request.reset(token)
        response[HEADER] = number
        return response
