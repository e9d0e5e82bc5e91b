"""Browser windows that are signed in and remember what went wrong in them."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


class Windows:
    """Every window a test opened, and what the browser complained about."""

    def __init__(self, browser: Any, address: str) -> None:
        self.browser = browser
        self.address = address
        self.complaints: list[str] = []
        self.contexts: list[Any] = []
        self.expected_statuses: set[int] = set()

    def open(
        self, path: str, person: Any = None, *, width: int = 1440, height: int = 900, status: int = 200, **more: Any
    ) -> Any:
        context = self.browser.new_context(viewport={"width": width, "height": height}, **more)
        self.contexts.append(context)
        if person is not None:
            context.add_cookies([self._session_cookie(person)])
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("request", self._request)
        page.on("response", self._response)
        if status >= 400:
            self.expected_statuses.add(status)
        answer = page.goto(f"{self.address}{path}")
        assert answer.status == status, f"{path} answered {answer.status}"
        return page

    def close(self) -> None:
        for context in self.contexts:
            context.close()

    def _session_cookie(self, person: Any) -> dict[str, str]:
        client = Client()
        client.force_login(person)
        return {
            "name": settings.SESSION_COOKIE_NAME,
            "value": client.cookies[settings.SESSION_COOKIE_NAME].value,
            "url": self.address,
        }

    def _console(self, message: Any) -> None:
        # What could not be loaded is told with its address by _response.
        if message.type in {"error", "warning"} and not message.text.startswith("Failed to load resource"):
            self.complaints.append(f"{message.type}: {message.text}")

    def _response(self, response: Any) -> None:
        if response.status >= 400 and response.status not in self.expected_statuses:
            self.complaints.append(f"{response.url} answered {response.status}")

    def _request(self, request: Any) -> None:
        if request.url.startswith(("http", "ws")) and urlsplit(request.url).netloc != urlsplit(self.address).netloc:
            self.complaints.append(f"went to another host: {request.url}")


def accessibility_faults(page: Any, *extra: str) -> list[str]:
    """What axe-core finds, one line per rule with the first place; ``extra`` adds rule tags ("wcag2aaa")."""
    found = Axe().run(page, options={"runOnly": [*RULES, *extra]}).response["violations"]
    return [f"{fault['id']}: {fault['help']} at {fault['nodes'][0]['target']}" for fault in found]


def is_wider_than_the_screen(page: Any) -> bool:
    """Would somebody have to push the whole page sideways?"""
    return bool(page.locator("html").evaluate("element => element.scrollWidth > element.clientWidth"))
