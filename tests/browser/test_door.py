"""The client's door in a real browser: from the link in a mail to an agreed day, on a phone and on a desk."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from business import clock
from business.services.client_links import link_token, stop_token
from scheduling.models import ClientAsk, Visit
from tests import make, make_garden
from tests.browser.windows import accessibility_faults, is_wider_than_the_screen


@pytest.fixture
def visit(db):
    make.profile()
    site = make_garden.site(client=make.client(name="Rosa Quill", email="rosa@example.com"))
    make_garden.tree(support=make_garden.support(site=site), label="Pear by the door")
    make.invoice(client=site.client)
    return make_garden.visit(site=site, on=clock.now().date() + timedelta(days=6))


@pytest.mark.parametrize("width", [360, 1440])
def test_a_client_agrees_to_the_day_from_the_mail(open_page, visit, width):
    page = open_page(reverse("link-open", args=[link_token(visit.site.client)]), width=width)
    assert urlsplit(page.url).path == reverse("garden-door")
    assert page.evaluate("document.referrer") == ""
    assert accessibility_faults(page) == []
    assert not is_wider_than_the_screen(page)
    assert page.locator(".picture svg").count() >= 1

    page.get_by_role("link", name="The day suits me").click()
    assert accessibility_faults(page) == []
    page.get_by_role("button", name="Yes, come on").click()

    assert "the day is agreed" in page.locator("main").inner_text()
    visit.refresh_from_db()
    assert visit.state == Visit.State.CONFIRMED


def test_a_client_asks_for_another_day_and_leaves(open_page, visit):
    page = open_page(reverse("link-open", args=[link_token(visit.site.client)]), width=360)
    page.get_by_role("link", name="Ask for another day").click()
    page.get_by_role("textbox").fill("Any Friday.")
    assert accessibility_faults(page) == []
    page.get_by_role("button", name="Send to the office").click()
    assert "We have your wish" in page.locator("main").inner_text()
    assert ClientAsk.objects.get().words == "Any Friday."

    for name in ("garden-contact", "garden-tree"):
        places = [visit.site.trees.get().pk] if name == "garden-tree" else []
        page.goto(f"{urlsplit(page.url).scheme}://{urlsplit(page.url).netloc}{reverse(name, args=places)}")
        assert accessibility_faults(page) == []
        assert not is_wider_than_the_screen(page)
    page.get_by_role("button", name="Leave").click()
    assert "You have left" in page.locator("h1").inner_text()


def test_a_person_stops_reminders_by_a_press(open_page, visit):
    page = open_page(reverse("mail-stop", args=[stop_token(visit.site.client, "reminder")]), width=360)
    assert accessibility_faults(page) == []
    page.get_by_role("button", name="Stop reminders").click()
    assert "You get no reminders" in page.locator("h1").inner_text()
    page.get_by_role("button", name="Send them again").click()
    visit.site.client.refresh_from_db()
    assert visit.site.client.stopped_kinds == []
