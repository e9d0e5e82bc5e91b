"""A visit dragged over the day board: answered while it hovers, stored when let go, refused with the reason."""

from __future__ import annotations

from datetime import time, timedelta
from zoneinfo import ZoneInfo

import pytest

from business import clock
from scheduling.models import Plan, Visit
from scheduling.services.crews import public_holidays
from scheduling.services.visits import confirm_visit, fix_visit
from tests import make, make_garden
from tests.browser.windows import accessibility_faults


@pytest.fixture
def day():
    make.profile()
    today = clock.today(ZoneInfo("Europe/London"))
    off = public_holidays(today, today + timedelta(days=60))
    # A Tuesday to come on which people work, and on the Wednesday after too.
    days = (today + timedelta(days=number) for number in range(7, 60))
    return next(each for each in days if each.weekday() == 1 and not {each, each + timedelta(days=1)} & set(off))


@pytest.fixture
def crews(day):
    return [make_garden.crew(name="North"), make_garden.crew(name="South", size=1)]


@pytest.fixture
def visits(day, crews):
    return [
        make_garden.visit(
            site=make_garden.site(latitude_deg=51.03 + 0.02 * number),
            on=day,
            opens=day,
            best_from=day,
            best_until=day,
            closes=day + timedelta(days=5),
            crew=crews[0],
            position=number + 1,
            arrives_at=time(9 + 2 * number),
            leaves_at=time(10 + 2 * number, 15),
        )
        for number in range(2)
    ]


def order_of(crew) -> list[int]:
    return list(Visit.objects.filter(round__crew=crew).order_by("position").values_list("pk", flat=True))


def let_go_after_the_answer(page, start: str, end: str, words: str) -> None:
    """Drag by hand: over the place, wait for the words, then let go."""
    page.locator(start).hover(position={"x": 8, "y": 8})  # beside its link and buttons
    page.mouse.down()
    box = page.locator(end).bounding_box()
    for step in (0.3, 0.5, 0.4):
        page.mouse.move(box["x"] + box["width"] * step, box["y"] + box["height"] * 0.25, steps=6)
    page.locator("#drag-panel").get_by_text(words).first.wait_for()
    page.mouse.up()


def test_a_stop_is_dragged_before_another(open_page, office, day, crews, visits):
    page = open_page(f"/rounds/day/?day={day}", office)

    let_go_after_the_answer(page, f"#visit-{visits[1].pk}", f"#visit-{visits[0].pk}", "The round it would make")

    page.wait_for_url("**/rounds/plans/*/")
    assert page.get_by_role("button", name="Take it back").is_visible()
    assert order_of(crews[0]) == [visits[1].pk, visits[0].pk]


def test_a_stop_is_dragged_to_another_crew(open_page, office, day, crews, visits):
    page = open_page(f"/rounds/day/?day={day}", office)

    let_go_after_the_answer(page, f"#visit-{visits[0].pk}", f'[data-drop][data-crew="{crews[1].pk}"]', "South on")

    page.wait_for_url("**/rounds/plans/*/")
    assert order_of(crews[1]) == [visits[0].pk]


def test_a_place_that_does_not_fit_is_refused_with_its_reason(open_page, office, day, crews, visits):
    Visit.objects.filter(pk=visits[0].pk).update(crew_size=2)
    page = open_page(f"/rounds/day/?day={day}", office)

    let_go_after_the_answer(
        page, f"#visit-{visits[0].pk}", f'[data-drop][data-crew="{crews[1].pk}"]', "South is 1, the work takes 2"
    )

    assert page.get_by_role("button", name="Move it all the same").is_hidden()
    page.get_by_role("button", name="Leave it").click()
    assert page.locator("#drag-panel").is_hidden()
    assert order_of(crews[0]) == [visit.pk for visit in visits]
    assert not Plan.objects.exists()


def test_a_wish_that_is_missed_is_asked_about_first(open_page, office, day, crews, visits):
    Visit.objects.filter(pk=visits[0].pk).update(preferred_crew=crews[0])
    page = open_page(f"/rounds/day/?day={day}", office)

    let_go_after_the_answer(
        page, f"#visit-{visits[0].pk}", f'[data-drop][data-crew="{crews[1].pk}"]', "The round it would make"
    )
    assert accessibility_faults(page) == []
    assert not Plan.objects.exists()
    page.get_by_role("button", name="Move it all the same").click()

    page.wait_for_url("**/rounds/plans/*/")
    assert order_of(crews[1]) == [visits[0].pk]


def test_what_is_fixed_cannot_be_dragged(open_page, office, day, crews, visits):
    confirm_visit(visit_id=visits[0].pk)
    fix_visit(visit_id=visits[0].pk, is_locked=True)
    page = open_page(f"/rounds/day/?day={day}", office)

    assert page.locator(f"#visit-{visits[0].pk}").get_attribute("draggable") is None
    assert page.locator(f"#visit-{visits[1].pk}").get_attribute("draggable") == "true"


def test_a_visit_changed_meanwhile_is_not_moved(open_page, office, day, crews, visits):
    page = open_page(f"/rounds/day/?day={day}", office)
    Visit.objects.filter(pk=visits[1].pk).update(revision=5)
    open_page.__self__.expected_statuses.add(422)

    let_go_after_the_answer(page, f"#visit-{visits[1].pk}", f"#visit-{visits[0].pk}", "The round it would make")

    page.get_by_text("was changed by somebody else").wait_for()
    assert order_of(crews[0]) == [visit.pk for visit in visits]


def test_without_scripts_the_buttons_do_it(open_page, office, day, crews, visits):
    page = open_page(f"/rounds/day/?day={day}", office, java_script_enabled=False)

    page.get_by_role("button", name=f"{visits[1].site.name} one place earlier").click()

    page.wait_for_load_state()
    assert order_of(crews[0]) == [visits[1].pk, visits[0].pk]


def test_a_stop_is_dragged_to_another_day_of_the_week(open_page, office, day, crews, visits):
    other = day + timedelta(days=1)
    make_garden.visit(on=other, opens=other, best_from=other, closes=other, best_until=other, crew=crews[0], position=1)
    Visit.objects.filter(pk=visits[1].pk).update(best_until=other)
    page = open_page(f"/rounds/?week={day}", office)

    let_go_after_the_answer(
        page, f'[data-visit="{visits[1].pk}"]', f'[data-drop][data-day="{other}"]', "The round it would make"
    )

    page.wait_for_url("**/rounds/plans/*/")
    assert Visit.objects.get(pk=visits[1].pk).on == other
