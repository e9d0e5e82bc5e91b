"""What every test may ask for: the cast, its own folders, jobs run at once, a real browser.

Tests of the pure cores need none of it and run without Django too (``-p no:django -o DJANGO_SETTINGS_MODULE=``).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import hypothesis
import pytest

if TYPE_CHECKING:
    from django.test import Client as WebClient

    from business.models import Staff

PASSWORD = "seven pears on a wall"  # noqa: S105 – of people who exist in tests only
DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server", "admin_user"}
SERVICES_RUN = os.environ.get("TEST_SERVICES") == "yes"


def has_django(config: pytest.Config) -> bool:
    return config.pluginmanager.has_plugin("django")


def pytest_addoption(parser: pytest.Parser, pluginmanager: pytest.PytestPluginManager) -> None:
    if not pluginmanager.has_plugin("django"):
        parser.addini("DJANGO_SETTINGS_MODULE", "Known, and of no use without Django.")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "database: reads or writes rows (set by itself)")
    # The same cases for everybody, so that a change is judged by what it changed; EXPLORE=yes goes looking for others.
    # A busy machine is no fault of a test, so the clock judges none of them.
    unhurried: dict[str, Any] = {"deadline": None, "suppress_health_check": [hypothesis.HealthCheck.too_slow]}
    hypothesis.settings.register_profile("same", derandomize=True, **unhurried)
    hypothesis.settings.register_profile("explore", print_blob=True, **unhurried)
    hypothesis.settings.load_profile("explore" if os.environ.get("EXPLORE") == "yes" else "same")
    if not has_django(config):
        return
    from django.conf import settings

    from deploy.celery import app

    # A slow hasher keeps thieves busy; here it would only keep the tests busy (0.4 s a sign-in).
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # Find static files when asked: cheaper than listing them for every test client.
    settings.WHITENOISE_AUTOREFRESH = True
    app.conf.task_eager_propagates = True
    app.conf.task_always_eager = True


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if uses_database(item):
            item.add_marker("database")
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
    if not SERVICES_RUN:
        # Without the services that deploy/test starts there is nothing these could run against.
        left_out = [item for item in items if item.get_closest_marker("services")]
        if left_out:
            config.hook.pytest_deselected(items=left_out)
            items[:] = [item for item in items if not item.get_closest_marker("services")]


def uses_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("django_db") or DATABASE_FIXTURES & set(getattr(item, "fixturenames", ())):
        return True
    case = getattr(item, "cls", None)
    return case is not None and any(base.__name__ == "TransactionTestCase" for base in case.__mro__)


@pytest.fixture(autouse=True)
def own_folders(request: pytest.FixtureRequest) -> None:
    """Pictures, papers and mail of a test stay in its own folder."""
    if not has_django(request.config) or not request.node.get_closest_marker("database"):
        return
    if request.node.get_closest_marker("services"):
        return  # shares its folders with the worker; see tests/services
    folder: Path = request.getfixturevalue("tmp_path")
    settings = request.getfixturevalue("settings")
    settings.VAR = folder
    settings.MEDIA_ROOT = folder / "media"
    settings.MAIL_FOLDER = folder / "mail"
    settings.EMAIL_FILE_PATH = str(folder / "mail")
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": str(folder / "media")},
        },
    }


# The cast: one of each kind of person, so that "may not see" costs a test one line.


def make_staff(username: str, role: str, **fields: Any) -> Staff:
    from business.models import Staff

    return Staff.objects.create_user(
        username, PASSWORD, role=role, name=username.capitalize(), email=f"{username}@example.com", **fields
    )


@pytest.fixture
def owner(db: None) -> Staff:
    return make_staff("olwen", "owner", sees_prices=True)


@pytest.fixture
def office(db: None) -> Staff:
    return make_staff("oriel", "office", sees_prices=True)


@pytest.fixture
def crew_lead(db: None) -> Staff:
    return make_staff("linden", "crew_lead")


@pytest.fixture
def crew(db: None) -> Staff:
    return make_staff("corin", "crew")


@pytest.fixture
def accountant(db: None) -> Staff:
    return make_staff("ada", "accountant", sees_prices=True)


@pytest.fixture
def at_office(client: WebClient, office: Staff) -> WebClient:
    """The test client, signed in as the office."""
    client.force_login(office)
    return client


@pytest.fixture
def at_owner(client: WebClient, owner: Staff) -> WebClient:
    """The test client, signed in as the owner, who may do everything."""
    client.force_login(owner)
    return client


@pytest.fixture
def at_crew(client: WebClient, crew: Staff) -> WebClient:
    """The test client, signed in as somebody of a crew."""
    client.force_login(crew)
    return client


# The browser: one for the whole run, a fresh window for each test.

BROWSER_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    import shutil

    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        pytest.fail("No Chromium on this machine; ./deploy/setup test installs it.")
    # Playwright keeps an event loop in this thread, which Django would take for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=program, args=BROWSER_ARGUMENTS)
        yield started
        started.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def open_page(browser: Any, live_server: Any) -> Iterator[Any]:
    """``open_page("/trees/3", office, width=360)``: a window at that address, signed in.

    When the test ends, anything the browser complained about, and any request to another host, is a fault.
    """
    from tests.browser.windows import Windows

    windows = Windows(browser, live_server.url)
    yield windows.open
    windows.close()
    assert windows.complaints == []
