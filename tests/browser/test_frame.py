"""The page frame in a real browser: keyboard, narrow screens, nothing from elsewhere, readable by machines."""

from __future__ import annotations

import pytest

from business.templatetags.face import TABS
from tests.architecture.addresses import addresses
from tests.browser.windows import accessibility_faults, is_wider_than_the_screen

PAGES = [address for address in addresses() if address.name in {tab.url_name for tab in TABS}]


@pytest.mark.parametrize("address", PAGES, ids=lambda address: address.name)
@pytest.mark.parametrize("width", [360, 1440])
def test_a_page_of_an_empty_book_is_in_order(open_page, office, address, width):
    page = open_page(address.path, office, width=width)
    assert accessibility_faults(page) == []
    assert not is_wider_than_the_screen(page)
    assert page.locator("h1").count() == 1


@pytest.mark.parametrize("width", [320, 1440])
def test_a_missing_page_says_what_to_do(open_page, office, width):
    page = open_page("/no-such-page", office, width=width, status=404)
    assert "There is no such page" in page.locator("h1").inner_text()
    assert accessibility_faults(page) == []
    assert not is_wider_than_the_screen(page)


def test_the_keyboard_reaches_the_page_first(open_page, office):
    page = open_page("/no-such-page", office, status=404)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "content"


def test_the_menu_of_a_phone_opens_and_closes(open_page, office):
    page = open_page("/no-such-page", office, width=360, status=404)
    menu, tabs = page.get_by_role("button", name="Menu"), page.get_by_role("navigation", name="Pages")
    assert not tabs.is_visible()
    menu.click()
    assert tabs.is_visible()
    assert menu.get_attribute("aria-expanded") == "true"
    menu.click()
    assert not tabs.is_visible()


def test_without_scripts_the_tabs_of_a_phone_stay_open(open_page, office):
    page = open_page("/no-such-page", office, width=360, status=404, java_script_enabled=False)
    assert page.get_by_role("navigation", name="Pages").is_visible()
    assert not page.get_by_role("button", name="Menu").is_visible()


def test_pages_use_the_type_that_comes_with_them(open_page, office):
    page = open_page("/no-such-page", office, status=404)
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px \"Pocket Book\"'))")
    loaded = page.evaluate("[...document.fonts].filter(face => face.status === 'loaded').map(face => face.family)")
    assert {name.strip('"') for name in loaded} == {"Pocket Book"}


def test_letters_beyond_western_europe_have_their_own_file(open_page, office):
    page = open_page("/no-such-page", office, status=404)
    weights = "Promise.all([400, 700].map(weight => document.fonts.load(`${weight} 16px \"Pocket Book\"`, 'Łőš')))"
    assert page.evaluate(f"{weights}.then(found => found.map(faces => faces.length))") == [1, 1]
