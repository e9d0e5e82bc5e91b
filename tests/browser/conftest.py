"""Pages ask the test's server from several threads, which in tests share one connection to a database in memory."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.handlers.base import BaseHandler

PATIENCE_SECONDS = 20


@pytest.fixture(autouse=True)
def one_request_at_a_time(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Requests follow each other, and the rows of a test are cleared away only when the last one is answered.

    On one connection the statements of two requests would end up in one transaction.
    """
    gate, waiting = threading.RLock(), [0]
    answer_as_usual = BaseHandler.get_response

    def get_response(self: BaseHandler, request: Any) -> Any:
        waiting[0] += 1
        try:
            with gate:
                return answer_as_usual(self, request)
        finally:
            waiting[0] -= 1

    monkeypatch.setattr(BaseHandler, "get_response", get_response)
    yield
    until = time.monotonic() + PATIENCE_SECONDS
    while waiting[0] and time.monotonic() < until:
        time.sleep(0.02)
