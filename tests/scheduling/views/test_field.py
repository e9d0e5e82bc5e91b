"""The addresses a phone talks to, and what the office sees of what came from phones."""

from __future__ import annotations

import gzip
import hashlib
import json
import uuid

import pytest
from django.urls import reverse

from gardens.models import Photo
from scheduling.documents.reports import report_html
from scheduling.models import FieldAct, HandedOut, Phone, Task, Visit
from scheduling.queries.visits import with_tasks
from tests import make_garden
from tests.answers import close
from tests.browser.field import small_day
from tests.conftest import make_staff
from tests.gardens.services.test_photos import camera_picture

JSON = "application/json"


@pytest.fixture
def visit(crew):
    return small_day(crew)[0]


@pytest.fixture
def task(visit):
    return visit.work_order.tasks.order_by("pk").first()


def an_act(visit, task, person, **more):
    base = {"id": str(uuid.uuid4()), "seq": 1, "schema": 1, "person": person.pk, "visit": visit.pk, "offset_s": 0}
    return {
        **base,
        "kind": "done",
        "task": task.pk if task else None,
        "at": "2025-01-14T10:00:00+00:00",
        "value": {},
        **more,
    }


def post(client, name, body, **more):
    return client.post(reverse(name), json.dumps(body), content_type=JSON, **more)


def is_served(client, address):
    answer = client.get(address)
    close(answer)
    return answer.status_code == 200


def test_a_phone_gets_its_round_compressed(at_crew, visit):
    body = {"phone": str(uuid.uuid4())}
    answer = post(at_crew, "field-pack", body, headers={"Accept-Encoding": "gzip"})
    assert answer["Content-Encoding"] == "gzip"
    pack = json.loads(gzip.decompress(answer.content))["pack"]
    assert [stop["site"]["name"] for stop in pack["stops"]] == [visit.site.name]
    assert HandedOut.objects.filter(visit=visit, phone__uid=body["phone"]).count() == 1
    again = post(at_crew, "field-pack", {**body, "version": pack["version"]}).json()
    assert again["pack"] is None
    Task.objects.filter(work_order__visit=visit).first().delete()
    kept = list(pack["drawings"])
    fresh = post(at_crew, "field-pack", {**body, "version": pack["version"], "drawings": kept}).json()["pack"]
    assert len(fresh["drawings"]) == 1


def test_field_answers_are_never_stored_on_the_way(at_crew, visit):
    answer = at_crew.get(reverse("field-hello"), {"phone": str(uuid.uuid4())})
    assert answer["Cache-Control"] == "no-store"
    assert answer.cookies["field_phone"]["httponly"]


def test_without_a_sign_in_the_answer_is_json(client, visit, task, crew):
    answer = post(client, "field-acts", {"phone": str(uuid.uuid4()), "acts": [an_act(visit, task, crew)]})
    assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
    assert FieldAct.objects.count() == 0


def test_an_accountant_finds_nothing_here(client, accountant):
    client.force_login(accountant)
    assert client.get(reverse("field-hello")).status_code == 404


@pytest.mark.parametrize(
    "body", [b"{", b"[]", b'{"phone": "x", "acts": []}', b'{"phone": NaN}', b"[" * 100_000, b"\xff"]
)
def test_half_a_batch_changes_nothing(at_crew, body):
    answer = at_crew.post(reverse("field-acts"), body, content_type=JSON)
    assert answer.status_code == 400
    assert Phone.objects.count() == FieldAct.objects.count() == 0


def test_each_act_has_its_receipt(at_crew, crew, visit, task):
    good, bad = an_act(visit, task, crew), an_act(visit, task, crew, seq=2, kind="dance")
    told = post(at_crew, "field-acts", {"phone": str(uuid.uuid4()), "acts": [good, bad]}).json()
    assert [(one["id"], one["result"]) for one in told["receipts"]] == [
        (good["id"], "accepted"),
        (bad["id"], "refused"),
    ]
    assert told["receipts"][1]["problem"]["errors"][0]["pointer"] == "kind"
    assert told["known_seq"] == 2


def test_the_worker_lists_every_file_it_keeps(client, db):
    answer = client.get(reverse("service-worker"))
    assert answer["Content-Type"] == "text/javascript"
    assert answer["Cache-Control"] == "no-cache"
    shell = json.loads(answer.content.decode().split("self.SHELL = ", 1)[1].split(";\n", 1)[0])
    assert [address for address in shell["files"] if not is_served(client, address)] == []


def test_the_worker_keeps_every_module_there_is(client, db):
    from pathlib import Path

    from scheduling.field import shell

    folder = Path(shell.__file__).parents[1] / "static" / "scheduling" / "field"
    there = {path.relative_to(folder).with_suffix("").as_posix() for path in folder.rglob("*.js")} - {"worker"}
    assert there == set(shell.MODULES)


def test_the_page_can_be_put_on_a_home_screen(client, db):
    told = client.get(reverse("field-manifest")).json()
    assert told["start_url"] == told["scope"] == reverse("field-today")
    assert all(is_served(client, icon["src"]) for icon in told["icons"])


def test_a_photo_needs_its_act_first(at_crew, crew, office, visit, task):
    data = camera_picture()
    digest = hashlib.sha256(data).hexdigest()
    address = reverse("field-photo", args=[digest])
    pieces = {"Upload-Offset": "0", "Upload-Length": str(len(data))}
    assert at_crew.put(address, data, headers=pieces).status_code == 422
    act = an_act(visit, None, crew, kind="photo", tree=task.tree_id, value={"digest": digest, "pair": "after"})
    post(at_crew, "field-acts", {"phone": str(uuid.uuid4()), "acts": [act]})
    assert at_crew.put(address, data, headers=pieces).json() == {"have": len(data), "is_here": True}
    photo = Photo.objects.get()
    assert is_served(at_crew, reverse("field-picture", args=[photo.uid]))
    assert not is_served(at_crew, reverse("photo", args=[photo.uid]))
    at_crew.force_login(make_staff("robin", "crew"))
    assert not is_served(at_crew, reverse("field-picture", args=[photo.uid]))
    at_crew.force_login(office)
    assert is_served(at_crew, reverse("photo", args=[photo.uid]))
    assert f"/photos/{photo.uid}/small" in at_crew.get(reverse("tree", args=[task.tree_id])).content.decode()


def test_a_disk_without_room_keeps_the_photo_on_the_phone(at_crew, crew, visit, task, monkeypatch):
    from scheduling.field import photos

    def no_room(**_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(photos, "take_piece", no_room)
    pieces = {"Upload-Offset": "0", "Upload-Length": "3"}
    answer = at_crew.put(reverse("field-photo", args=["0" * 64]), b"abc", headers=pieces)
    assert answer.status_code == 507


def test_the_report_shows_before_and_after(crew, visit, task):
    from django.core.files.base import ContentFile

    from gardens.services.photos import develop

    made = develop(camera_picture())
    for minute, pair in enumerate(("before", "after")):
        photo = Photo(
            site=visit.site,
            tree=task.tree,
            digest=f"{minute:064}",
            pair=pair,
            taken_at=make_garden.utc(2025, 1, 14, 10 + minute),
            reference=f"visit:{visit.pk}",
            width_px=made.width_px,
            height_px=made.height_px,
        )
        photo.file.save("one.jpg", ContentFile(made.large))
    text = report_html(with_tasks(Visit.objects.filter(pk=visit.pk)).get())
    assert text.index("Before the work") < text.index("After the work")
    assert text.count("data:image/jpeg;base64,") == 2


def test_a_lost_picture_does_not_keep_the_report(crew, visit, task):
    Photo.objects.create(
        site=visit.site,
        tree=task.tree,
        digest="0" * 64,
        file="photos/gone.jpg",
        width_px=1,
        height_px=1,
        taken_at=make_garden.utc(2025, 1, 14),
        reference=f"visit:{visit.pk}",
    )
    assert "data:image/jpeg" not in report_html(with_tasks(Visit.objects.filter(pk=visit.pk)).get())


def test_the_office_sees_what_needs_it_and_settles_it(client, office, crew, visit, task):
    client.force_login(crew)
    wish = an_act(visit, None, crew, kind="extra", value={"text": "A quince by the gate."})
    post(client, "field-acts", {"phone": str(uuid.uuid4()), "acts": [wish], "waiting": 3})
    assert client.get(reverse("phones")).status_code == 404
    client.force_login(office)
    page = client.get(reverse("phones")).content.decode()
    assert "A quince by the gate." in page
    assert "3 acts" in page
    assert "From the phones" in client.get(reverse("today")).content.decode()
    assert "A quince by the gate." in client.get(reverse("visit", args=[visit.pk])).content.decode()
    client.post(reverse("phone-act-close", args=[FieldAct.objects.get().pk]))
    act = FieldAct.objects.get()
    assert (act.is_open, act.closed_by, act.result) == (False, office, "accepted")
