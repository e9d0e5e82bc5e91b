"""The office keeps crews, their people and their days on pages."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from django.urls import reverse

from business.models import ChangeNote
from scheduling.forms.crews import CrewForm
from scheduling.models import Crew, Shift
from scheduling.queries.crews import people_for_crews
from scheduling.services.crew_book import version_of
from tests import make, make_garden

pytestmark = pytest.mark.django_db
CREW = {
    "name": "North crew",
    "size": "2",
    "skills": "Ladder, spraying; ladder",
    "yard_latitude_deg": "51.03",
    "yard_longitude_deg": "-2.8",
    "time_zone": "Europe/London",
    "days": ["0", "1", "2", "3", "4"],
    "starts": "08:00",
    "ends": "16:30",
    "break_minutes": "30",
    "is_active": "on",
}
MONDAY = date(2026, 2, 2)


@pytest.fixture
def people(crew, crew_lead):
    return crew, crew_lead


def test_a_crew_is_made_with_people_and_days_on_pages(at_office, people):
    make.profile(country="GB")
    sent = {**CREW, "members": [person.pk for person in people], "lead": people[1].pk}
    answer = at_office.post(reverse("crew-new"), sent)
    made = Crew.objects.get()
    assert answer["Location"] == reverse("crew", args=[made.pk])
    assert (made.code, made.skills, made.working_week) == ("north-crew", ["ladder", "spraying"], "1111100")
    assert {place.staff: place.is_lead for place in made.members.all()} == {people[0]: False, people[1]: True}
    span = {"first_day": "2026-12-21", "last_day": "2027-01-03"}
    at_office.post(reverse("crew-days", args=[made.pk]), span)
    assert Shift.objects.filter(is_off=False).count() == 8 - 2 + 1  # Christmas Day, Boxing Day's Monday, New Year
    assert Shift.objects.get(on=date(2026, 12, 25)).is_off
    page = at_office.get(reverse("crew", args=[made.pk]) + "?from=2026-12-21").content.decode()
    assert "Christmas Day" in page


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"ends": "07:00"}, "write a later hour"),
        ({"days": []}, "Choose at least one day"),
        ({"time_zone": "Mars"}, "Write it like Europe/London"),
        ({"size": "0"}, "greater than or equal to 1"),
        ({"yard_latitude_deg": "95"}, "less than or equal to 90"),
        ({"code": "taken"}, "The code taken is taken"),
    ],
)
def test_a_wrong_crew_is_told_beside_its_box(at_office, wrong, words):
    make_garden.crew(code="taken")
    answer = at_office.post(reverse("crew-new"), {**CREW, **wrong})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert Crew.objects.count() == 1


def test_a_lead_must_be_among_the_people(at_office, people):
    sent = {**CREW, "members": [people[0].pk], "lead": people[1].pk}
    assert "Is not among the people" in at_office.post(reverse("crew-new"), sent).content.decode()


def test_somebody_of_another_crew_is_not_taken_silently(at_office, people):
    other = make_garden.crew(name="South crew", members=(people[0],))
    answer = at_office.post(reverse("crew-new"), {**CREW, "members": [people[0].pk]})
    assert answer.status_code == 422
    assert "goes out with South crew" in answer.content.decode()
    assert other.members.get().staff == people[0]


def test_people_change_and_the_lead_passes_on(at_office, people):
    crew = make_garden.crew(members=people)
    crew.members.filter(staff=people[0]).update(is_lead=True)
    sent = {**CREW, "members": [people[1].pk], "lead": people[1].pk, "seen": version_of(crew)}
    assert at_office.post(reverse("crew-edit", args=[crew.pk]), sent).status_code == 302
    assert [(place.staff, place.is_lead) for place in crew.members.all()] == [(people[1], True)]
    told = ChangeNote.objects.get(reference=f"crew:{crew.pk}")
    assert (told.before["lead"], told.after["lead"]) == (people[0].name, people[1].name)


def test_a_crew_changed_meanwhile_is_refused(at_office, people):
    crew = make_garden.crew()
    sent = {**CREW, "seen": version_of(crew), "members": []}
    crew.members.create(staff=people[0])
    answer = at_office.post(reverse("crew-edit", args=[crew.pk]), sent)
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.content.decode()


def test_the_form_shows_a_crew_as_it_is(people):
    crew = make_garden.crew(members=people, working_week="1010100")
    initial = CrewForm.initial_of(crew, version_of(crew))
    form = CrewForm(initial=initial, people=people_for_crews())
    assert form["days"].value() == ["0", "2", "4"]
    assert form["skills"].value() == "ladder"
    assert set(form["members"].value()) == {person.pk for person in people}


def test_a_day_is_closed_and_stranded_visits_are_told(at_office):
    crew = make_garden.crew()
    make_garden.visit(needs=(make_garden.need(),), on=MONDAY, crew=crew)
    Shift.objects.filter(crew=crew).delete()
    sent = {"starts": "08:00", "ends": "16:00", "break_minutes": "30", "is_off": "on", "reason": "van at the garage"}
    answer = at_office.post(reverse("crew-day", args=[crew.pk, MONDAY.isoformat()]), sent, follow=True)
    assert "1 of its visits have nobody now" in answer.content.decode()
    shift = Shift.objects.get(crew=crew, on=MONDAY)
    assert (shift.is_off, shift.reason) == (True, "van at the garage")
    page = at_office.get(reverse("crew", args=[crew.pk]) + f"?from={MONDAY}").content.decode()
    assert "nobody" in page


def test_a_day_ends_after_it_starts(at_office):
    crew = make_garden.crew()
    sent = {"starts": "08:00", "ends": "07:00", "break_minutes": "30"}
    answer = at_office.post(reverse("crew-day", args=[crew.pk, MONDAY.isoformat()]), sent)
    assert answer.status_code == 422
    assert not Shift.objects.filter(crew=crew, on=MONDAY, ends=time(7)).exists()


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"first_day": "2026-03-01", "last_day": "2026-02-01"}, "before the first day"),
        ({"first_day": "2026-03-01", "last_day": "2030-02-01"}, "more than two years"),
        ({"first_day": "", "last_day": "2026-03-01"}, "required"),
    ],
)
def test_a_wrong_span_lays_no_day(at_office, sent, words):
    crew = make_garden.crew()
    before = Shift.objects.count()
    answer = at_office.post(reverse("crew-days", args=[crew.pk]), sent)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert Shift.objects.count() == before


def test_a_day_that_is_no_day_leads_back(at_office):
    crew = make_garden.crew()
    assert at_office.get(reverse("crew-day", args=[crew.pk, "soon"])).status_code == 302


def test_six_weeks_take_few_questions(at_office, django_assert_max_num_queries):
    crew = make_garden.crew()
    for offset in range(0, 30, 3):
        make_garden.visit(needs=(make_garden.need(),), on=MONDAY + timedelta(days=offset), crew=crew)
    with django_assert_max_num_queries(20):
        at_office.get(reverse("crew", args=[crew.pk]) + f"?from={MONDAY}")


@pytest.mark.parametrize("page", ["crews", "crew-new"])
def test_crews_and_accountants_keep_no_crews(client, crew, accountant, page):
    for person in (crew, accountant):
        client.force_login(person)
        assert client.get(reverse(page)).status_code in {302, 403, 404}
        assert client.post(reverse(page), CREW).status_code in {302, 403, 404, 405}
    assert not Crew.objects.exists()


def test_an_empty_week_leads_to_the_next_round(at_office):
    crew = make_garden.crew()
    make_garden.visit(needs=(make_garden.need(),), on=MONDAY, crew=crew)
    page = at_office.get(reverse("rounds") + "?week=2026-01-12").content.decode()
    assert "Go to Monday 2 February" in page
    assert reverse("crews") in page
    assert "Go to" not in at_office.get(reverse("rounds") + "?week=2026-02-02").content.decode()
