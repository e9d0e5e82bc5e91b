"""Pages of seasons, rounds and visits."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from business.models import Staff
from scheduling.models import Task, Visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)


@pytest.fixture
def house():
    make.profile()


@pytest.fixture
def person(house):
    return make.staff(role=Staff.Role.CREW)


@pytest.fixture
def visit(person):
    crew = make_garden.crew(members=(person,))
    return make_garden.visit(needs=(make_garden.need(),), on=DAY, crew=crew)


@pytest.fixture
def office(client, house):
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    return client


def test_every_page_answers_before_anything_is_planned(office):
    for name in ("today", "rounds"):
        assert office.get(reverse(name)).status_code == 200
    response = office.get(reverse("season"), follow=True)
    assert response.status_code == 200
    assert "Plan the season" in response.content.decode()


def test_a_crew_sees_its_own_visit_and_no_other(client, visit, person):
    other = make_garden.visit(needs=(make_garden.need(),), on=DAY)
    client.force_login(person)

    assert client.get(reverse("visit", args=[visit.pk])).status_code == 200
    assert client.get(reverse("work-order", args=[visit.pk])).status_code == 200
    assert client.get(reverse("visit", args=[other.pk])).status_code == 404
    assert client.get(reverse("work-order", args=[other.pk])).status_code == 404
    assert client.get(reverse("round", args=[other.round_id])).status_code == 404
    task = other.work_order.tasks.get()
    assert client.post(reverse("task-answer", args=[task.pk]), {"state": "done"}).status_code == 404


def test_the_season_is_the_offices(client, visit, person):
    client.force_login(person)

    assert client.get(reverse("season-year", args=[2027])).status_code == 404
    assert client.post(reverse("season-plan", args=[2027])).status_code == 404
    assert client.post(reverse("rounds-plan"), {}).status_code == 404


def test_a_job_is_ticked_and_unticked(client, visit, person):
    client.force_login(person)
    task = visit.work_order.tasks.get()

    client.post(reverse("task-answer", args=[task.pk]), {"state": "done"})
    task.refresh_from_db()
    assert (task.state, task.answered_by) == (Task.State.DONE, person)

    client.post(reverse("task-answer", args=[task.pk]), {"state": "open"})
    task.refresh_from_db()
    assert task.state == Task.State.OPEN


def test_not_done_without_a_reason_is_refused_in_words(client, visit, person):
    client.force_login(person)
    task = visit.work_order.tasks.get()

    response = client.post(reverse("task-answer", args=[task.pk]), {"state": "not_done"})

    assert response.status_code == 422
    assert "needs its reason" in response.content.decode()


def test_finishing_with_open_jobs_names_them(client, visit, person):
    client.force_login(person)

    response = client.post(reverse("visit-act", args=[visit.pk]), {"act": "finish", "minutes": "80"})

    assert response.status_code == 422
    assert "has no answer" in response.content.decode()


def test_a_stale_page_is_told_so(office, visit):
    revision = visit.revision
    office.post(reverse("visit-act", args=[visit.pk]), {"act": "fix", "revision": revision})

    response = office.post(reverse("visit-act", args=[visit.pk]), {"act": "confirm", "revision": revision})

    assert response.status_code == 422
    assert "changed by somebody else" in response.content.decode()


def test_a_crew_cannot_fix_or_agree_a_day(client, visit, person):
    client.force_login(person)

    for act in ("fix", "confirm", "nonsense"):
        assert client.post(reverse("visit-act", args=[visit.pk]), {"act": act}).status_code == 404


def test_a_called_off_visit_says_why(office, visit):
    office.post(reverse("visit-act", args=[visit.pk]), {"act": "call_off", "reason": "rain"})

    page = office.get(reverse("visit", args=[visit.pk])).content.decode()
    assert "Called off: rain" in page
    visit.refresh_from_db()
    assert visit.state == Visit.State.CALLED_OFF


def test_a_report_is_only_there_once_finished(office, visit):
    assert office.get(reverse("visit-report", args=[visit.pk])).status_code == 404


@pytest.mark.parametrize("visits", [1, 8])
def test_a_week_takes_the_same_queries_however_many_visits(office, django_assert_max_num_queries, visits):
    crew = make_garden.crew()
    for number in range(visits):
        make_garden.visit(on=DAY, crew=crew, position=number + 1)

    with django_assert_max_num_queries(12):
        response = office.get(reverse("rounds"), {"week": "2027-01-11"})
    assert f"{visits} visit" in response.content.decode()


def test_no_page_of_a_crew_names_a_price(client, visit, person):
    make.agreement(client=visit.site.client)
    client.force_login(person)

    for name, args in (("today", []), ("rounds", []), ("visit", [visit.pk]), ("round", [visit.round_id])):
        assert "£" not in client.get(reverse(name, args=args)).content.decode()


def test_work_orders_are_drawn_with_words_in_place(office, visit, tmp_path):
    import subprocess

    path = tmp_path / "order.pdf"
    path.write_bytes(office.get(reverse("work-order", args=[visit.pk])).content)

    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout

    assert visit.site.name in text
    assert "Shorten the laterals to three buds." in text
    assert "Tue 12 Jan 2027" in text
    assert all(line.split()[-5] == "yes" for line in fonts.splitlines()[2:]), fonts
    assert "Paper-Text" in fonts
