"""Who changed what, before and after, readable on the page of the thing (ASVS v5.0.0-16.3.3)."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from business.models import ChangeNote
from gardens.services.places import Change, save_tree, version_of
from gardens.services.records import Fact, withdraw_record, write_record
from gardens.services.supports import save_build
from gardens.services.weather import choose_station
from scheduling.services.tasks import Answer, answer_task, undo_answer
from tests import make, make_garden
from tests.gardens.services.stations import station

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def house(office, client):
    make.profile()
    client.force_login(office)


def newest(reference: str) -> ChangeNote:
    return ChangeNote.objects.filter(reference=reference).order_by("-pk")[0]


def shown(client, name: str, number: int) -> str:
    page = client.get(reverse(name, args=[number])).content.decode()
    assert "Who changed what" in page, name
    return page.split("Who changed what")[1]


def test_a_person_s_page_tells_who_changed_their_rights(client, owner):
    corin = make.staff(role="crew", name="Corin")
    client.force_login(owner)
    sent = {"name": "Corin", "username": corin.username, "role": "crew_lead", "is_active": "on"}
    client.post(reverse("person", args=[corin.pk]), {**sent, "password": "eleven quinces by the gate"})

    told = ChangeNote.objects.get(reference=f"person:{corin.pk}", act="person changed")
    assert (told.made_by, told.before, told.after) == (owner, {"role": "crew"}, {"role": "crew_lead"})
    trail = shown(client, "person", corin.pk)
    assert "crew → crew_lead" in trail
    assert "Password changed" in trail
    assert "eleven quinces" not in str(list(ChangeNote.objects.values_list("before", "after")))
    assert "pbkdf2" not in trail
    assert "md5" not in trail


def test_a_tree_s_page_tells_of_records_added_and_withdrawn(client, office):
    tree = make_garden.tree()
    fact = Fact(on=date(2026, 1, 10), kind="measured", what="leader_height", limb="leader", value=980.0)
    record = write_record(tree=tree, fact=fact, by=office)
    withdraw_record(record=record)

    trail = shown(client, "tree", tree.pk)
    assert "Record added" in trail
    assert "Record withdrawn" in trail
    assert office.name in trail
    assert newest(f"tree:{tree.pk}").before["value"] == 980.0


def test_a_tree_that_is_changed_keeps_what_it_was(client):
    tree = make_garden.tree(label="Pear by the door")
    values = {"label": "Pear by the gate"}
    save_tree(support=tree.support, change=Change(values=values, seen=version_of(tree)), tree=tree)

    told = newest(f"tree:{tree.pk}")
    assert (told.before["label"], told.after["label"]) == ("Pear by the door", "Pear by the gate")
    assert "Pear by the door → Pear by the gate" in shown(client, "tree", tree.pk)


def test_a_garden_s_page_tells_which_station_spoke_before(client):
    site = make_garden.site()
    moor = station()
    choose_station(site=site, station=moor)

    told = newest(f"site:{site.pk}")
    assert (told.before, told.after) == ({"station": "usual values"}, {"station": moor.name})
    assert moor.name in shown(client, "site", site.pk)


def test_a_support_s_page_tells_how_its_build_was_changed(client):
    support = make_garden.support()
    save_build(support=support, build={"tension_n": 400}, trees=[], built_on=date(2024, 3, 1))

    told = newest(f"support:{support.pk}")
    assert told.before["build"] == {}
    assert told.after["build"] == {"tension_n": 400}
    assert "Build changed" in shown(client, "support", support.pk)


def test_a_visit_s_page_tells_who_answered_and_took_back(client, crew):
    visit = make_garden.visit(needs=(make_garden.need(),), on=date(2027, 1, 12))
    task = visit.work_order.tasks.get()
    answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="weather", note="Hail"), by=crew)
    undo_answer(task_id=task.pk)

    answered, opened = ChangeNote.objects.filter(reference=f"visit:{visit.pk}").order_by("pk")
    assert (answered.act, answered.after["state"], answered.after["note"]) == ("job 1 answered", "not_done", "Hail")
    assert (opened.before["reason"], opened.after["state"]) == ("weather", "open")
    assert "Job 1 opened again" in shown(client, "visit", visit.pk)


def test_answers_from_phones_are_told_on_the_visit(client, crew):
    from tests.browser.field import small_day
    from tests.scheduling.views.test_field import an_act, post

    visit = small_day(crew)[0]
    task = visit.work_order.tasks.order_by("pk").first()
    client.force_login(crew)
    answer = post(
        client, "field-acts", {"phone": "3f0c1d52-8f0a-4f52-9a44-2f6c1f1a7a01", "acts": [an_act(visit, task, crew)]}
    )

    assert answer.json()["receipts"][0]["result"] == "accepted", answer.json()
    told = newest(f"visit:{visit.pk}")
    assert (told.made_by, told.before["state"], told.after["state"]) == (crew, "open", "done")
