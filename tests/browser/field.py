"""A small day for the field page, and a phone to look at it with."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import expect

from business import clock
from scheduling.models import FieldAct, Visit
from scheduling.services.field_pack import today_of
from tests import make, make_garden

HEIGHT = 740
WIDTH = 360


def small_day(person: Any, *, stops: int = 1, trees: int = 2) -> list[Visit]:
    """Today's round of one crew: each stop with its trees, two jobs a tree."""
    make.profile()
    crew = make_garden.crew(members=(person,))
    today = today_of(person)
    visits = []
    for position in range(1, stops + 1):
        site = make_garden.site(
            name=f"Pear Cottage {position}",
            address="1 Mill Street\nLower Wallop",
            access_notes="Gate code 4711. Dog is friendly.",
            hazards="Slippery steps by the well.",
            phone="01632 960123",
        )
        row = make_garden.support(site=site, length_mm=40_000)
        needs = []
        for number in range(trees):
            tree = make_garden.tree(support=row, label=f"Tree {number + 1}", position_mm=2000 + 4000 * number)
            window = {
                "opens": today.replace(day=1),
                "best_from": today.replace(day=1),
                "best_until": today,
                "closes": today,
            }
            needs += [make_garden.need(tree=tree, **window), make_garden.need(tree=tree, **window)]
        visits.append(make_garden.visit(needs=tuple(needs), on=today, crew=crew, position=position))
    return visits


def open_field(windows_open: Any, person: Any, **more: Any) -> Any:
    """The field page with its round on the phone and its worker at work."""
    page = windows_open("/field/", person, width=WIDTH, height=HEIGHT, **more)
    expect(page.locator(".next, .lead").first).to_be_visible()
    expect(page.locator(".band.is-level")).to_be_visible(timeout=20_000)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    return page


def go(page: Any, address: str) -> None:
    page.evaluate("address => { location.hash = address; }", address)


def open_tree(page: Any, visit: Visit, number: int = 0) -> None:
    tree_id = visit.work_order.tasks.order_by("pk")[number * 2].tree_id
    go(page, f"#/stop/{visit.pk}/tree/{tree_id}")
    expect(page.locator(".job").first).to_be_visible()


def tick(page: Any, task_id: int) -> None:
    page.locator(f"#job-{task_id} .do-done").click()
    expect(page.locator(f"#job-{task_id}.is-done")).to_be_visible()


def stored(page: Any, store: str = "acts") -> list[dict[str, Any]]:
    """What lies on the phone's disk."""
    raw = page.evaluate(
        """store => new Promise((good, bad) => {
            const asked = indexedDB.open("field-round");
            asked.onerror = () => bad(asked.error);
            asked.onsuccess = () => {
                const all = asked.result.transaction(store).objectStore(store).getAll();
                all.onsuccess = () => { asked.result.close(); good(JSON.stringify(all.result)); };
            };
        })""",
        store,
    )
    found: list[dict[str, Any]] = json.loads(raw)
    return found


def acts(**wanted: Any) -> int:
    return FieldAct.objects.filter(result="accepted", **wanted).count()


NOW = clock.now
