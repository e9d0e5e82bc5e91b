"""A browser with a disk of its own, run as a process of its own so that a test can kill it.

python -m tests.browser.persistent_phone write|read '{"folder": …, "address": …, "cookie": …, "program": …, "stop": …}'
"""

from __future__ import annotations

import json
import sys
from typing import Any

from playwright.sync_api import Playwright, sync_playwright

from tests.conftest import BROWSER_ARGUMENTS

NOTES = 20
COUNT = """() => new Promise(good => {
    const asked = indexedDB.open("field-round");
    asked.onsuccess = () => {
        const all = asked.result.transaction("acts").objectStore("acts").count();
        all.onsuccess = () => good(all.result);
    };
})"""


def window(play: Playwright, told: dict[str, Any], **more: Any) -> Any:
    return play.chromium.launch_persistent_context(
        told["folder"],
        executable_path=told["program"],
        args=BROWSER_ARGUMENTS,
        viewport={"width": 360, "height": 740},
        **more,
    )


def write(play: Playwright, told: dict[str, Any]) -> None:
    """Fetch the round, lose the signal, write notes; then say so and wait to be killed in the middle of the next."""
    context = window(play, told)
    context.add_cookies([told["cookie"]])
    page = context.new_page()
    page.goto(f"{told['address']}/field/")
    page.locator(".band.is-level").wait_for(timeout=30_000)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    context.set_offline(True)
    page.evaluate("address => { location.hash = address; }", f"#/stop/{told['stop']}")
    for number in range(NOTES):
        page.locator("details:not([open]) > summary", has_text="A note").click()
        page.locator("details[open] textarea").fill(f"note {number}.")
        page.get_by_role("button", name="Keep the note").click()
        page.locator(".said", has_text=f"note {number}.").wait_for()
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    page.locator("details:not([open]) > summary", has_text="A note").click()
    page.locator("details[open] textarea").fill("the last words")
    page.get_by_role("button", name="Keep the note").click(no_wait_after=True)
    sys.stdin.read()


def read(play: Playwright, told: dict[str, Any]) -> None:
    """Open again without any network and tell how many acts are there."""
    context = window(play, told, offline=True)
    page = context.new_page()
    answer = page.goto(f"{told['address']}/field/")
    page.locator(".next").wait_for(timeout=30_000)
    place = "from-the-worker" if answer.from_service_worker else "from-elsewhere"
    sys.stdout.write(f"{page.evaluate(COUNT)} {place}\n")
    context.close()


if __name__ == "__main__":
    with sync_playwright() as playwright:
        {"write": write, "read": read}[sys.argv[1]](playwright, json.loads(sys.argv[2]))
