"""Pages of plans, moves, boards, sheets, calendars and numbers: who may open them, and what they say."""

from __future__ import annotations

import subprocess
from datetime import date, time, timedelta

import pytest
from django.urls import reverse

from business import clock
from business.models import Staff
from scheduling.models import Plan, PlanRun, Visit
from scheduling.services import replanning
from scheduling.services.plan_runs import start_run
from scheduling.services.visits import confirm_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)


@pytest.fixture(autouse=True)
def house(time_machine, monkeypatch):
    time_machine.move_to("2027-01-11 12:00:00+00:00", tick=False)
    monkeypatch.setattr(replanning, "USUAL_EFFORT", replanning.Effort(seconds=None, iterations=40, seeds=(1,)))
    make.profile()


@pytest.fixture
def person():
    return make.staff(role=Staff.Role.CREW, name="Corin Vale")


@pytest.fixture
def crew(person):
    return make_garden.crew(name="North", members=(person,))


@pytest.fixture
def visits(crew):
    return [
        make_garden.visit(
            needs=(make_garden.need(materials=[["tie_soft", 12]]),),
            on=DAY,
            crew=crew,
            position=number + 1,
            weather_rules=["D24"] if number == 0 else [],
            arrives_at=time(9 + 2 * number),
            leaves_at=time(10 + 2 * number, 15),
        )
        for number in range(2)
    ]


@pytest.fixture
def office(client, monkeypatch, django_capture_on_commit_callbacks):
    """The office at its desk. The jobs a page asks for are done before the next page is opened."""
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    ask = client.post

    def post(address, *args, follow=False, **more):
        with django_capture_on_commit_callbacks(execute=True):
            answer = ask(address, *args, **more)
        return client.get(answer["Location"], follow=True) if follow and answer.status_code == 302 else answer

    monkeypatch.setattr(client, "post", post)
    return client


def rain(office):
    answer = office.post(reverse("rain-day"), {"day": DAY.isoformat()})
    return Plan.objects.get(), answer


def test_rain_leads_to_a_plan_to_compare(office, visits):
    confirm_visit(visit_id=visits[0].pk)
    plan, answer = rain(office)

    assert answer["Location"] == reverse("plan", args=[plan.pk])
    page = office.get(answer["Location"]).content.decode()
    for words in (visits[0].site.name, "The day is marked wet", "Clients to tell again", "Accept the plan", "Before"):
        assert words in page
    assert "Rain on 12 January" in office.get(reverse("rounds")).content.decode()


def test_a_plan_is_accepted_and_taken_back(office, visits):
    plan, _ = rain(office)

    page = office.post(reverse("plan-accept", args=[plan.pk]), follow=True).content.decode()
    assert "The plan is in force" in page
    assert "Take it back" in page
    assert Visit.objects.get(pk=visits[0].pk).on != DAY

    office.post(reverse("plan-undo", args=[plan.pk]))
    assert Visit.objects.get(pk=visits[0].pk).on == DAY
    again = office.post(reverse("plan-undo", args=[plan.pk]))
    assert again.status_code == 422
    assert "only a plan in force" in again.content.decode()


def test_a_plan_is_dropped_once(office, visits):
    plan, _ = rain(office)

    assert "Dropped" in office.post(reverse("plan-drop", args=[plan.pk]), follow=True).content.decode()
    assert office.post(reverse("plan-drop", args=[plan.pk])).status_code == 422


def test_a_stale_plan_is_refused_by_name(office, visits):
    plan, _ = rain(office)
    confirm_visit(visit_id=visits[0].pk)

    assert "is agreed now" in office.get(reverse("plan", args=[plan.pk])).content.decode()
    answer = office.post(reverse("plan-accept", args=[plan.pk]))
    assert answer.status_code == 422
    assert f"visit to {visits[0].site.name} is agreed now" in answer.content.decode()
    assert Visit.objects.get(pk=visits[0].pk).on == DAY


def test_wrong_days_are_told_where_the_form_stood(office, visits, crew):
    for name, said, words in (
        ("rain-day", {"day": "soon"}, "It rains on"),
        ("rain-day", {"day": "2027-01-08"}, "is over"),
        ("crew-away", {"crew": crew.pk, "first_day": "2027-01-14", "last_day": "2027-01-13"}, "is before"),
        ("crew-away", {"crew": 987654, "first_day": "2027-01-14", "last_day": "2027-01-14"}, "Crew away"),
    ):
        page = office.post(reverse(name), said, follow=True).content.decode()
        assert words in page, name
    assert not Plan.objects.exists()


def test_rounds_are_laid_by_a_job_and_offered(office, visits):
    waiting = make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=date(2027, 1, 22))
    asked = {"first_day": "2027-01-11", "last_day": "2027-01-22", "seconds": 5}

    page = office.post(reverse("rounds-plan"), asked, follow=True).content.decode()
    assert "Rounds from 11 January to 22 January" in page
    assert "Accept the plan" in page
    assert Visit.objects.get(pk=waiting.pk).on is None

    office.post(reverse("plan-accept", args=[Plan.objects.get().pk]))
    assert Visit.objects.get(pk=waiting.pk).on is not None


def test_a_plan_under_way_shows_how_far_it_is(office, visits):
    plan = start_run(question={"kind": "rain", "day": DAY.isoformat()})
    PlanRun.objects.update(
        started_at=clock.now() - timedelta(seconds=3),
        beat_at=clock.now(),
        stage="searching all days anew",
        placed=7,
        asked=9,
    )

    page = office.get(reverse("plan", args=[plan.pk])).content.decode()
    for words in ("Under way", "3 s of", "Searching all days anew", "7 of 9", "Stop and keep the best so far"):
        assert words in page, words
    part = office.get(reverse("plan-progress", args=[plan.pk]), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert 'hx-trigger="every 1s"' in part
    assert "Under way" in office.get(reverse("rounds")).content.decode()

    office.post(reverse("plan-stop", args=[plan.pk]))
    assert "Stopping" in office.get(reverse("plan", args=[plan.pk])).content.decode()


def test_a_plan_that_ended_is_loaded_whole(office, visits):
    plan, _ = rain(office)

    answer = office.get(reverse("plan-progress", args=[plan.pk]), headers={"HX-Request": "true"})
    assert answer["HX-Refresh"] == "true"
    assert office.get(reverse("plan-progress", args=[plan.pk]))["Location"] == reverse("plan", args=[plan.pk])


def test_a_plan_without_a_worker_is_cleared_or_asked_again(office, visits, time_machine):
    plan = start_run(question={"kind": "rain", "day": DAY.isoformat()})
    time_machine.shift(timedelta(minutes=5))

    page = office.get(reverse("plan", args=[plan.pk])).content.decode()
    assert "No worker took it up for a minute" in page
    assert "every 5s" in page

    page = office.post(reverse("plan-again", args=[plan.pk]), follow=True).content.decode()
    assert "Accept the plan" in page
    assert Plan.objects.get(pk=plan.pk).state == Plan.State.DROPPED
    assert office.post(reverse("plan-clear", args=[plan.pk])).status_code == 422


def test_a_crew_away_is_planned_without(office, visits, crew):
    other = make_garden.crew(name="South")
    office.post(reverse("crew-away"), {"crew": crew.pk, "first_day": DAY, "last_day": DAY, "reason": "flu"})

    page = office.get(reverse("plan", args=[Plan.objects.get().pk])).content.decode()
    assert "North away, 12 January" in page
    assert other.name in page


def test_the_visit_page_calls_off_and_finds_places(office, visits):
    page = office.post(
        reverse("visit-call-off", args=[visits[0].pk]), {"reason": "moved house", "revision": 0}, follow=True
    ).content.decode()
    assert "called off, 12 January" in page

    waiting = make_garden.visit()
    assert "Find a place soon" in office.get(reverse("visit", args=[waiting.pk])).content.decode()
    page = office.post(reverse("visit-urgent", args=[waiting.pk]), {"until": ""}, follow=True).content.decode()
    assert f"Urgent: {waiting.site.name}" in page

    need = make_garden.need(skill="climbing")
    page = office.post(reverse("need-urgent", args=[need.pk]), follow=True).content.decode()
    assert "climbing" in page


def test_a_late_visit_plans_the_rest_of_today(office, visits, time_machine):
    time_machine.move_to("2027-01-12 10:00:00+00:00", tick=False)
    office.force_login(make.staff(role=Staff.Role.OFFICE))
    assert "It runs over" in office.get(reverse("visit", args=[visits[0].pk])).content.decode()

    page = office.post(reverse("visit-ran-over", args=[visits[0].pk]), {"until": "12:30"}, follow=True).content.decode()

    assert "until 12:30" in page
    assert visits[1].site.name in page


def test_a_move_is_answered_then_stored(office, visits, crew):
    address = reverse("visit-move", args=[visits[0].pk])
    said = {"crew": crew.pk, "day": "2027-01-13", "position": "", "revision": 0}

    part = office.post(address, said, headers={"HX-Request": "true"}).content.decode()
    assert "North on 13 January 2027" in part
    assert "<html" not in part
    assert Visit.objects.get(pk=visits[0].pk).on == DAY
    assert "North on 13 January 2027" in office.post(address, {**said, "act": "check"}).content.decode()

    office.post(address, {**said, "act": "move"})
    assert Visit.objects.get(pk=visits[0].pk).on == date(2027, 1, 13)
    stale = office.post(address, {**said, "act": "move"})
    assert stale.status_code == 422
    assert "changed by somebody else" in stale.content.decode()


def test_a_move_against_a_rule_is_refused_in_words(office, visits, crew):
    address = reverse("visit-move", args=[visits[0].pk])
    saturday = {"crew": crew.pk, "day": "2027-01-16", "act": "move", "revision": 0}

    answer = office.post(address, saturday)

    assert answer.status_code == 422
    assert "does not work on 16 January 2027" in answer.content.decode()
    assert office.post(address, {"crew": "", "day": "x"}).status_code == 422


def test_a_button_moves_a_stop_within_its_day(office, visits):
    address = reverse("visit-nudge", args=[visits[1].pk])

    answer = office.post(address, {"step": "earlier", "revision": 0})
    assert answer["Location"] == f"/rounds/day/?day=2027-01-12#visit-{visits[1].pk}"
    assert Visit.objects.get(pk=visits[1].pk).position == 1
    page = office.post(address, {"step": "earlier"}, follow=True).content.decode()
    assert "is the first already" in page
    assert office.post(address, {"step": "sideways"}).status_code == 404


def test_the_board_tells_load_and_closing_windows(office, visits, crew):
    closing = make_garden.visit(closes=date(2027, 2, 12))

    page = office.get(reverse("board"), {"from": "2027-01-11"}).content.decode()

    # 150 minutes at two gardens, no driving written yet; five shifts of eight hours.
    assert "2.5 of 40 h" in page
    assert f'{closing.site.name}</a> <span class="second">until Fri 12 Feb' in page
    assert 'scope="row"' in page
    assert "<svg" in page
    assert "style=" not in page


def test_an_overfull_week_is_said_in_words(office, crew):
    for number in range(6):
        make_garden.visit(on=DAY, crew=crew, position=number + 1, minutes=480)

    page = office.get(reverse("board"), {"from": "2027-01-11"}).content.decode()

    assert "48 of 40 h" in page
    assert "too full" in page


@pytest.mark.parametrize("count", [1, 7])
def test_boards_take_the_same_queries_however_many_visits(office, crew, count, django_assert_max_num_queries):
    for number in range(count):
        make_garden.visit(on=DAY, crew=crew, position=number + 1)
        make_garden.visit()

    for name, asked in (("board", {"from": "2027-01-11"}), ("day", {"day": "2027-01-12"})):
        with django_assert_max_num_queries(14):
            assert office.get(reverse(name), asked).status_code == 200


def test_a_crew_sees_its_day_and_may_not_move(client, visits, person):
    other = make_garden.visit(on=DAY)
    client.force_login(person)

    page = client.get(reverse("day"), {"day": "2027-01-12"}).content.decode()
    assert visits[0].site.name in page
    assert other.site.name not in page
    assert "Elsewhere" not in page


def test_planning_is_the_offices(client, visits, person, crew, office):
    plan, _ = rain(office)
    need = make_garden.need()
    client.force_login(person)

    for name, args in (
        ("board", []),
        ("plan", [plan.pk]),
        ("plan-progress", [plan.pk]),
        ("visit-move", [visits[0].pk]),
        ("numbers", []),
    ):
        assert client.get(reverse(name, args=args)).status_code == 404, name
    for name, args in (
        ("rain-day", []),
        ("crew-away", []),
        ("plan-accept", [plan.pk]),
        ("plan-drop", [plan.pk]),
        ("plan-undo", [plan.pk]),
        ("rounds-plan", []),
        ("plan-stop", [plan.pk]),
        ("plan-clear", [plan.pk]),
        ("plan-again", [plan.pk]),
        ("visit-move", [visits[0].pk]),
        ("visit-nudge", [visits[0].pk]),
        ("visit-call-off", [visits[0].pk]),
        ("visit-urgent", [visits[0].pk]),
        ("visit-ran-over", [visits[0].pk]),
        ("need-urgent", [need.pk]),
        ("crew-calendar-renew", [crew.pk]),
    ):
        assert client.post(reverse(name, args=args)).status_code == 404, name
    plan.refresh_from_db()
    assert plan.state == Plan.State.OFFERED


def test_the_numbers_are_the_owners(client, office, visits, crew):
    assert office.get(reverse("numbers")).status_code == 404
    client.force_login(make.staff(role=Staff.Role.OWNER))
    make_garden.visit(closes=date(2027, 1, 14), best_from=DAY, best_until=DAY)

    page = client.get(reverse("numbers")).content.decode()
    for words in ("of paid time used", "of the time out is driving", "Half a day more", "240 min more of North"):
        assert words in page, words
    asked = {"site": visits[0].site_id, "minutes": 60, "until": "2027-01-20"}
    assert "min more driving" in client.get(reverse("numbers"), asked).content.decode()
    nowhere = client.get(reverse("numbers"), {**asked, "minutes": 600}).content.decode()
    assert "It fits nowhere" in nowhere
    assert Visit.objects.count() == 3


def test_the_round_sheet_is_read_back(client, visits, person, tmp_path):
    site = visits[0].site
    site.phone, site.access_notes, site.hazards = "01632 960321", "Gate code 4711", "Bees by the shed"
    site.address = "3 Mill Lane\nNether Wallop"
    site.save()
    client.force_login(person)
    path = tmp_path / "round.pdf"

    path.write_bytes(client.get(reverse("round-sheet", args=[visits[0].round_id])).content)
    text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout

    for words in (
        "North, Tue 12 Jan 2027",
        "Corin Vale",
        site.name,
        "09:00–10:15",
        "Ring 01632 960321",
        "Gate code 4711",
        "! Bees by the shed",
        "3 Mill Lane",
        "Load in the van",
        "ring 999",
        "Page 1 of",
    ):
        assert words in text, words
    assert "24" in text.split("Load in the van")[1]
    assert "£" not in text


def test_a_sheet_of_another_crew_is_not_there(client, visits, person):
    other = make_garden.visit(on=DAY)
    client.force_login(person)

    assert client.get(reverse("round-sheet", args=[other.round_id])).status_code == 404


def test_a_crew_finds_only_its_own_calendar(client, office, crew, person):
    make_garden.crew(name="South")
    before = office.get(reverse("calendars")).content.decode()
    assert "South" in before
    office.post(reverse("crew-calendar-renew", args=[crew.pk]))
    assert office.get(reverse("calendars")).content.decode() != before
    client.force_login(person)

    page = client.get(reverse("calendars")).content.decode()
    assert "North" in page
    assert "South" not in page
    assert "Give a new address" not in page
