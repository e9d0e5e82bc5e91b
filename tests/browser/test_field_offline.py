"""The field page without a network: it opens, it ticks, and each tick reaches the office once."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from scheduling.models import Task
from tests.browser.field import acts, open_field, open_tree, small_day, stored, tick


@pytest.fixture
def visit(crew):
    return small_day(crew)[0]


def test_ticks_made_offline_arrive_once(open_page, crew, visit):
    page = open_field(open_page, crew)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("h2", has_text="Pear Cottage 1")).to_be_visible()
    open_tree(page, visit)
    first, second = visit.work_order.tasks.order_by("pk")[:2]
    tick(page, first.pk)
    tick(page, second.pk)
    expect(page.locator(".band")).to_contain_text("2 on this phone, not sent yet")
    assert acts() == 0
    page.context.set_offline(False)
    expect(page.locator(".band.is-level")).to_be_visible(timeout=20_000)
    assert acts(kind="done") == 2
    assert set(visit.work_order.tasks.filter(state="done").values_list("pk", flat=True)) == {first.pk, second.pk}
    assert Task.objects.get(pk=first.pk).answered_by == crew
    assert all(act["receipt"]["result"] == "accepted" for act in stored(page))
