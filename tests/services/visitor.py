"""Somebody at a browser or a phone: real requests to a real web process, over one connection, with cookies."""

from __future__ import annotations

import http.client
import json
import re
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

FORM_TOKEN = "x" * 32
"""Cookie and header must agree, no more (Django's double submit); a browser would get one from the server."""

IDLE_SECONDS = 1.0
"""A server closes a connection nobody used for two seconds; a request sent into that moment would be lost."""


@dataclass(frozen=True)
class Answer:
    """``status`` 0: nobody answered."""

    status: int
    seconds: float
    body: bytes = b""
    headers: Mapping[str, str] = field(default_factory=dict)

    def json(self) -> Any:
        return json.loads(self.body)


class Visitor:
    """Signed in by a session made beside the server (no password: hashing one would be most of a test's time)."""

    def __init__(self, port: int, session_key: str = "", timeout: float = 60) -> None:
        self.port, self.timeout = port, timeout
        self.cookies = {"csrftoken": FORM_TOKEN}
        if session_key:
            self.cookies["sessionid"] = session_key
        self._connection: http.client.HTTPConnection | None = None
        self._used_at = 0.0

    def get(self, path: str) -> Answer:
        return self.ask("GET", path)

    def follow(self, path: str) -> Answer:
        """Open an address and where it leads, keeping the session it gives."""
        answer = self.get(path)
        while answer.status in (301, 302, 303):
            if found := re.search(r"sessionid=([^;]+)", answer.headers.get("Set-Cookie", "")):
                self.cookies["sessionid"] = found[1]
            answer = self.get(answer.headers["Location"])
        return answer

    def post(self, path: str, **values: Any) -> Answer:
        return self.ask("POST", path, urlencode(values).encode(), {"Content-Type": "application/x-www-form-urlencoded"})

    def post_json(self, path: str, value: Any) -> Answer:
        return self.ask("POST", path, json.dumps(value).encode(), {"Content-Type": "application/json"})

    def ask(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> Answer:
        """One request; a connection the server has closed meanwhile is opened once more for GET alone."""
        began = time.perf_counter()
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        if time.monotonic() - self._used_at > IDLE_SECONDS:
            self.close()
        all_headers = {"Cookie": cookies, "X-CSRFToken": FORM_TOKEN, **(headers or {})}
        for is_last in (False, True):
            is_fresh = self._connection is None
            if self._connection is None:
                self._connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.timeout)
            try:
                self._connection.request(method, path, body, all_headers)
                answer = self._connection.getresponse()
                content = answer.read()
            except (OSError, http.client.HTTPException):
                self.close()
                if is_last or is_fresh or method != "GET":
                    return Answer(0, time.perf_counter() - began)
                continue
            if answer.will_close:
                self.close()
            self._used_at = time.monotonic()
            return Answer(answer.status, time.perf_counter() - began, content, dict(answer.getheaders()))
        raise AssertionError("not reached")

    def close(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None


def session_of(person: Any) -> str:
    """The key of a session of this person, written into the database that Django is set up for."""
    from django.conf import settings
    from django.test import Client

    client = Client()
    client.force_login(person)
    return str(client.cookies[settings.SESSION_COOKIE_NAME].value)
