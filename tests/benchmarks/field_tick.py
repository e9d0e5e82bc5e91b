"""How long a tick takes to be painted in Chromium, with a whole day of work on the phone and no network.

    python -m tests.benchmarks.field_tick        (makes a database of its own in a temporary folder)

One JSON line: milliseconds from the tap to the frame that shows the job as done (median, 95 %, worst of 60 ticks), for
a day of 12 visits with 60 trees and 240 jobs, and the slow-down of the processor that was asked of the browser.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import time
import urllib.error
import urllib.request
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.benchmarks.field_sync import prepare

TICKS = 60
SLOWER = 1
"""An old phone beside this machine: Chromium slows its own work down by so much."""
PASSWORD = "seven pears on a wall"  # noqa: S105 - of a person in a throw-away database
TAP = """job => new Promise(done => {
    const row = document.getElementById(job);
    const button = row.querySelector(".do-done");
    const from = performance.now();
    const look = () => {
        const now = document.getElementById(job);
        if (now && now.classList.contains("is-done")) {
            requestAnimationFrame(() => setTimeout(() => done(performance.now() - from)));
        } else {
            requestAnimationFrame(look);
        }
    };
    button.click();
    look();
})"""


def day_of_today() -> tuple[Any, list[Any]]:
    """Twelve gardens of five trees, four jobs each, open today."""
    from business.models import Staff
    from scheduling.services.field_pack import today_of
    from tests import make, make_garden

    make.profile()
    person = Staff.objects.create_user("walker", PASSWORD, role="crew", name="Walker")
    crew = make_garden.crew(members=(person,))
    today = today_of(person)
    dates = {"opens": today - timedelta(days=9), "best_from": today, "best_until": today, "closes": today}
    visits = []
    for position in range(1, 13):
        row = make_garden.support(length_mm=30_000)
        trees = [make_garden.tree(support=row, position_mm=2000 + 4000 * number) for number in range(5)]
        limbs = ("leader", "arm:1:left", "arm:1:right", "whole")
        needs = tuple(make_garden.need(tree=tree, limb=limb, **dates) for tree in trees for limb in limbs)
        visits.append(make_garden.visit(needs=needs, on=today, crew=crew, position=position))
    return person, visits


def served() -> tuple[subprocess.Popen[bytes], str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"]
    said = Path(os.environ["VAR_DIR"], "server.log").open("w+b")  # noqa: SIM115 - the server goes on writing it
    server = subprocess.Popen(command, stdout=said, stderr=said)
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        try:
            urllib.request.urlopen(f"{address}/sign-in/", timeout=2)  # noqa: S310 - our own server on loopback
        except (urllib.error.URLError, ConnectionError):
            if server.poll() is not None:
                break
            time.sleep(0.1)
        else:
            return server, address
    server.kill()
    raise SystemExit(f"field_tick: the server did not start; see {said.name}")


def measure(address: str, visits: list[Any]) -> list[float]:
    from playwright.sync_api import expect, sync_playwright

    from tests.conftest import BROWSER_ARGUMENTS

    program = shutil.which("chromium") or shutil.which("chromium-browser")
    taken: list[float] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=BROWSER_ARGUMENTS)
        window = browser.new_context(viewport={"width": 360, "height": 740})
        page = window.new_page()
        page.goto(f"{address}/sign-in/?next=/field/")
        page.fill("[name=username]", "walker")
        page.fill("[name=password]", PASSWORD)
        page.click("form [type=submit]")
        expect(page.locator(".band.is-level")).to_be_visible(timeout=60_000)
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        window.set_offline(True)
        window.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        for visit, tree, jobs in worked_trees(visits):
            page.evaluate("address => { location.hash = address; }", f"#/stop/{visit}/tree/{tree}")
            for job in jobs:
                expect(page.locator(f"#job-{job} .do-done")).to_be_visible()
                taken.append(page.evaluate(TAP, f"job-{job}"))
        browser.close()
    return taken


def worked_trees(visits: list[Any]) -> list[tuple[int, int, list[int]]]:
    found: dict[tuple[int, int], list[int]] = {}
    for visit in visits:
        for task in visit.work_order.tasks.order_by("pk"):
            found.setdefault((visit.pk, task.tree_id), []).append(task.pk)
    return [(visit, tree, jobs) for (visit, tree), jobs in found.items()][: TICKS // 4]


def main() -> None:
    prepare()
    _, visits = day_of_today()
    rows = worked_trees(visits)
    assert sum(len(jobs) for _, _, jobs in rows) == TICKS
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    server, address = served()
    try:
        taken = measure(address, visits)
    finally:
        server.terminate()
        server.wait(10)
    quantiles = statistics.quantiles(taken, n=20)
    print(
        json.dumps(
            {
                "ticks": len(taken),
                "processor_slowed_by": SLOWER,
                "median_ms": round(statistics.median(taken), 1),
                "p95_ms": round(quantiles[-1], 1),
                "worst_ms": round(max(taken), 1),
            }
        )
    )


if __name__ == "__main__":
    main()
