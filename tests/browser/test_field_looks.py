"""The field page for people: readable by machines, hit with gloves, walked with one hand, telling no secrets."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import expect

from business.models import Client
from scheduling.models import FieldAct, Visit
from tests.browser.field import go, open_field, open_tree, small_day, stored, tick
from tests.browser.windows import accessibility_faults, is_wider_than_the_screen

TARGETS = "a[href], button, summary, select, input:not([type=file]), textarea, label.button"
SMALLEST = 56


@pytest.fixture
def visit(crew):
    return small_day(crew, stops=2)[0]


@pytest.fixture
def page(open_page, crew, visit):
    return open_field(open_page, crew)


def small_targets(page):
    """Everything that can be tapped and is smaller than a glove can hit."""
    found = page.locator(TARGETS).evaluate_all(
        """all => all.filter(one => one.checkVisibility()).map(one => {
            const box = one.getBoundingClientRect();
            return [one.textContent.trim().slice(0, 30) || one.tagName, Math.round(box.width), Math.round(box.height)];
        })"""
    )
    assert found
    return [target for target in found if min(target[1:]) < SMALLEST]


def states(page, visit):
    """Each state of the page by name, one after the other."""
    tasks = list(visit.work_order.tasks.order_by("pk"))
    yield "the day"
    go(page, f"#/stop/{visit.pk}")
    expect(page.locator("h1")).to_have_text("Pear Cottage 1")
    yield "a stop"
    page.get_by_role("button", name="Start").click()
    page.locator("summary").first.click()
    yield "a stop under way with a drawer open"
    open_tree(page, visit)
    yield "a tree"
    tick(page, tasks[0].pk)
    page.locator(f"#job-{tasks[1].pk} summary").click()
    yield "one job done, one with its reasons open"
    page.get_by_role("button", name="Measure", exact=True).click()
    yield "measuring"
    go(page, f"#/stop/{visit.pk}/close")
    expect(page.locator("h1")).to_have_text("End of stop")
    yield "the end of a stop"
    go(page, "#/send")
    expect(page.locator("h1")).to_have_text("What this phone holds")
    yield "what waits"
    page.context.set_offline(True)
    go(page, "#/stop/987654")
    expect(page.locator("h1")).to_contain_text("no longer")
    yield "a stop that is gone"


@pytest.mark.parametrize("width", [320, 360])
def test_every_state_is_in_order_and_large_enough(page, visit, width):
    page.set_viewport_size({"width": width, "height": 740})
    faults = {}
    for name in states(page, visit):
        page.evaluate("document.fonts.ready.then(() => true)")
        broken = [*accessibility_faults(page, "wcag2aaa"), *small_targets(page)]
        if is_wider_than_the_screen(page):
            broken.append("wider than the screen")
        if broken:
            faults[name] = broken
    assert faults == {}


def test_the_main_act_is_as_wide_as_a_thumb_needs(page, visit):
    go(page, f"#/stop/{visit.pk}")
    box = page.get_by_role("button", name="Start").bounding_box()
    assert box["height"] >= 72
    assert box["width"] >= 320
    assert box["y"] + box["height"] <= 740


def test_a_whole_stop_is_worked_with_no_signal(page, visit):
    page.context.set_offline(True)
    go(page, f"#/stop/{visit.pk}")
    page.get_by_role("button", name="Start").click()
    tasks = list(visit.work_order.tasks.order_by("pk"))
    open_tree(page, visit)
    tick(page, tasks[0].pk)
    job = page.locator(f"#job-{tasks[1].pk}")
    job.locator("summary").click()
    job.get_by_role("button", name="Keep it").click()
    expect(job.locator(".complaint")).to_contain_text("Choose a reason")
    job.locator("select").select_option("weather")
    job.get_by_role("button", name="Keep it").click()
    expect(page.locator(f"#job-{tasks[1].pk}.is-not_done")).to_be_visible()
    page.locator('.drawing [data-limb="leader"].limb').first.dispatch_event("click")
    for key in ("1", "6", "5"):
        page.get_by_role("button", name=key, exact=True).click()
    page.get_by_role("button", name="Keep the number").click()
    page.locator("summary", has_text="Stage of the year").click()
    page.get_by_label("What the tree shows today").select_option("leaf_fall")
    page.locator("details[open]").get_by_role("button", name="Keep it").click()
    open_tree(page, visit, 1)
    tick(page, tasks[2].pk)
    tick(page, tasks[3].pk)
    go(page, f"#/stop/{visit.pk}")
    page.locator("summary", has_text="Material used").click()
    page.get_by_label("Material", exact=True).select_option(index=1)
    page.get_by_label("How much").fill("12")
    page.locator("details[open]").get_by_role("button", name="Keep it").click()
    page.locator("summary", has_text="The client asks for more").click()
    page.get_by_label("What they would like").fill("A quince by the gate.")
    page.get_by_role("button", name="Tell the office").click()
    expect(page.locator(".said")).to_contain_text("A quince by the gate.")
    page.get_by_role("link", name="End of stop").click()
    page.get_by_label("Minutes on site").fill("47")
    page.get_by_label("A sentence for the client").fill("The pears look well.")
    page.get_by_label("Name of who signs").fill("M. Orchard")
    page.get_by_role("button", name="Finish the visit").click()
    expect(page.locator(".row", has_text="Pear Cottage 1")).to_contain_text("Finished")
    page.context.set_offline(False)
    expect(page.locator(".band.is-level")).to_be_visible(timeout=30_000)
    done = Visit.objects.get(pk=visit.pk)
    assert (done.state, done.minutes_taken, done.note) == ("finished", 47, "The pears look well.")
    kinds = sorted(FieldAct.objects.filter(result="accepted").values_list("kind", flat=True))
    assert kinds == sorted(
        ["started", *["done"] * 3, "not_done", "measured", "seen", "material", "extra", "signed", "finished"]
    )
    tree = tasks[0].tree
    assert set(tree.records.values_list("what", "value")) >= {("leader_height", 1650.0), ("stage", None)}
    assert FieldAct.objects.get(is_open=True).flags == ["extra_work"]


def test_a_tick_is_painted_within_a_frame_or_two(page, visit):
    """Work of the page from tap to painted row; no clock of the machine is held to it, see tests/benchmarks."""
    open_tree(page, visit)
    task = visit.work_order.tasks.order_by("pk").first()
    tick(page, task.pk)
    assert page.evaluate("document.activeElement.textContent").startswith("Undo")


def test_nothing_on_the_phone_speaks_of_money_or_of_others(open_page, crew):
    mine = small_day(crew)[0]
    from tests import make, make_garden

    client = mine.site.client
    Client.objects.filter(pk=client.pk).update(tax_number="GB 4321 9876", email="secret@example.com")
    make.charge(client=client, text="Winter pruning", unit_price=987)
    theirs = make_garden.visit(needs=(make_garden.need(),), on=mine.on, crew=make_garden.crew())
    page = open_field(open_page, crew)
    kept = json.dumps([stored(page, "pack"), stored(page, "drawings")])
    assert mine.site.name in kept
    for secret in ("4321", "987", "secret@example.com", "price", "£", theirs.site.name):
        assert secret not in kept


def test_without_scripts_the_page_leads_to_plain_ones(open_page, crew, visit):
    page = open_page("/field/", crew, width=360, java_script_enabled=False)
    page.get_by_role("link", name="plain pages").click()
    assert page.url.endswith("/")
    page.get_by_role("link", name="Pear Cottage 1").first.click()
    expect(page.get_by_role("button", name="Done").first).to_be_visible()
