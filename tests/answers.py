"""Answers of the test client, read to their end."""

from __future__ import annotations

from django.core.signals import request_finished
from django.db import close_old_connections
from django.http.response import HttpResponseBase


def close(answer: HttpResponseBase) -> None:
    """Close the files of an answer, but not the connection the test's own transaction runs on.

    The test client takes the same care while it asks; an answer closed later would end the connection on PostgreSQL.
    """
    request_finished.disconnect(close_old_connections)
    try:
        answer.close()
    finally:
        request_finished.connect(close_old_connections)
