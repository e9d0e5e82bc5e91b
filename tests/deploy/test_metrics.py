"""Figures for whatever watches the program: off at first, for the right eyes only, in the open text format, summed."""

from __future__ import annotations

import os
import re
import uuid
from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse

from business import clock
from business.models import Message
from deploy import counters
from deploy.counters import Counters, sums
from deploy.metrics import CONTENT_TYPE, CountRequests, folder
from scheduling.models import Phone
from tests import make

TOKEN = "a word for the watcher"  # noqa: S105 – of tests only
# A line of the text format as OpenMetrics 1.0 writes it (section "ABNF": metric-descriptor, sample), without exemplars.
NAME = r"[a-zA-Z_:][a-zA-Z0-9_:]*"
LABELS = r'\{[a-zA-Z_]\w*="(?:[^"\\\n]|\\["\\n])*"(?:,[a-zA-Z_]\w*="(?:[^"\\\n]|\\["\\n])*")*\}'
SAMPLE = re.compile(rf"(?P<name>{NAME})(?P<labels>{LABELS})? (?P<value>[+-]?(?:\d+(?:\.\d+)?(?:e[+-]?\d+)?|Inf|NaN))")
DESCRIPTOR = re.compile(rf"# (?P<what>TYPE|UNIT|HELP) (?P<name>{NAME}) (?P<words>.+)")
ENDINGS = {"counter": ["_total"], "gauge": [""], "histogram": ["_bucket", "_count", "_sum"]}


def read(text: str) -> dict[str, float]:
    """The samples by name and labels; every line is held to the format, every sample to its family."""
    assert text.endswith("# EOF\n")
    family, kind, unit, seen = "", "", "", set()
    samples: dict[str, float] = {}
    for line in text.splitlines()[:-1]:
        if found := DESCRIPTOR.fullmatch(line):
            if found["what"] == "TYPE":
                family, kind, unit = found["name"], found["words"], ""
                assert family not in seen, "the lines of a family stand together"
                seen.add(family)
            assert found["name"] == family
            if found["what"] == "UNIT":
                unit = found["words"]
                assert family.endswith(f"_{unit}")
            continue
        found = SAMPLE.fullmatch(line)
        assert found, line
        assert found["name"] in {family + ending for ending in ENDINGS[kind]}, line
        key = found["name"] + (found["labels"] or "")
        assert key not in samples, "a sample stands once"
        samples[key] = float(found["value"])
    return samples


@pytest.fixture
def counted(settings, client):
    """The middleware as a start with a token would make it, for the test client."""
    settings.METRICS_TOKEN = TOKEN
    return client


def look(client) -> dict[str, float]:
    answer = client.get(reverse("metrics"), headers={"Authorization": f"Bearer {TOKEN}"})
    assert (answer.status_code, answer["Content-Type"]) == (200, CONTENT_TYPE)
    return read(answer.content.decode())


@pytest.mark.django_db
def test_without_a_token_there_is_no_such_page(client, at_owner):
    assert at_owner.get("/metrics").status_code == 404
    assert client.get("/metrics", headers={"Authorization": "Bearer "}).status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize("words", ["", "Bearer ", "Bearer wrong", "Basic x", f"Bearer {TOKEN}x"])
def test_a_wrong_token_finds_nothing(counted, words):
    assert counted.get("/metrics", headers={"Authorization": words}).status_code == 404


@pytest.mark.django_db
def test_the_owner_sees_it_and_the_office_does_not(counted, owner, office):
    counted.force_login(office)
    assert counted.get("/metrics").status_code == 404
    counted.force_login(owner)
    assert counted.get("/metrics").status_code == 200


@pytest.mark.django_db
def test_requests_are_counted_by_page_and_status(counted, owner):
    for path in ("/healthz", "/healthz", "/nowhere/"):
        counted.get(path)
    counted.force_login(owner)
    counted.get(reverse("client", args=[987654]))
    told = look(counted)
    assert told['fruit_requests_total{pages="watching",name="health",method="GET",status="200"}'] == 2
    assert told['fruit_requests_total{pages="none",name="-",method="GET",status="404"}'] == 1
    assert told['fruit_requests_total{pages="business",name="client",method="GET",status="404"}'] == 1
    assert not any("987654" in name or "nowhere" in name for name in told), "addresses hold keys and numbers"


@pytest.mark.django_db
def test_durations_add_up_from_class_to_class(counted):
    for _ in range(5):
        counted.get("/healthz")
    told = look(counted)
    classes = [
        value for name, value in told.items() if name.startswith('fruit_request_seconds_bucket{pages="watching"')
    ]
    assert classes == sorted(classes)
    assert classes[-1] == told['fruit_request_seconds_count{pages="watching"}'] == 5
    assert 0 < told['fruit_request_seconds_sum{pages="watching"}'] < 60


@pytest.mark.django_db
def test_what_stands_in_the_book_is_told(counted, crew):
    waiting = make.message()
    Message.objects.filter(pk=waiting.pk).update(created_at=clock.now() - timedelta(hours=2))
    make.message(not_before=clock.now() + timedelta(days=1))
    lost = make.message()
    Message.objects.filter(pk=lost.pk).update(claimed_at=clock.now() - timedelta(hours=1))
    Message.objects.filter(pk=waiting.pk).update(state="waiting", sent_at=None, claimed_at=None)
    now = clock.now()
    for acts, at in ((3, now), (4, now - timedelta(hours=5)), (0, None)):
        Phone.objects.create(
            uid=uuid.uuid4(), staff=crew, waiting=acts, oldest_waiting_at=at, first_seen_at=now, last_seen_at=now
        )
    told = look(counted)
    assert told["fruit_messages_lost_claims"] == 1
    assert told['fruit_messages{state="refused"}'] == 0
    assert sum(value for name, value in told.items() if name.startswith("fruit_messages{")) == Message.objects.count()
    assert (told["fruit_phones_unsynced"], told["fruit_acts_unsynced"]) == (2, 7)
    assert told["fruit_acts_oldest_unsynced_seconds"] == pytest.approx(5 * 3600, abs=60)
    assert told["fruit_broker_up"] == 1
    assert told["fruit_jobs_waiting"] >= 0


@pytest.mark.django_db
def test_a_broker_that_is_gone_hides_nothing_else(counted, settings):
    # Port 9 (discard) listens nowhere here.
    settings.REDIS_URL = "redis://127.0.0.1:9/0"
    told = look(counted)
    assert told["fruit_broker_up"] == 0
    assert "fruit_jobs_waiting" not in told
    assert told["fruit_phones_unsynced"] == 0


@pytest.mark.django_db
def test_the_number_of_questions_does_not_grow(counted, django_assert_max_num_queries):
    for _ in range(5):
        make.message()
    with django_assert_max_num_queries(10):
        look(counted)


def test_nothing_is_counted_while_it_is_off(tmp_path, settings, rf):
    settings.VAR, settings.METRICS_TOKEN = tmp_path, ""
    CountRequests(lambda request: HttpResponse())(rf.get("/"))
    assert not folder().exists()


def in_a_child(work) -> None:
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(0)
    os.waitpid(child, 0)


class TestCounters:
    def test_processes_are_summed_the_dead_included(self, tmp_path):
        ours = Counters(tmp_path)
        ours.add("a")

        def work():
            for _ in range(10):
                ours.add("a")
            ours.add("b", 0.5)

        for _ in range(3):
            in_a_child(work)
        assert sums(tmp_path) == {"a": 31, "b": 1.5, "dropped": 0}
        assert len(list(tmp_path.glob("*.counts"))) == 1, "files of the dead are folded"
        ours.add("a")
        assert sums(tmp_path)["a"] == 32

    def test_a_later_process_with_the_same_number_is_another(self, tmp_path):
        Counters(tmp_path).add("a")
        (file,) = tmp_path.glob("*.counts")
        file.rename(tmp_path / f"{os.getpid()}-1.counts")
        Counters(tmp_path).add("a")
        assert sums(tmp_path)["a"] == 2

    def test_names_without_room_are_counted_as_dropped(self, tmp_path, monkeypatch):
        monkeypatch.setattr(counters, "SIZE", 4096)
        ours = Counters(tmp_path)
        for number in range(300):
            ours.add(f"name-{number:04}")
        told = sums(tmp_path)
        assert told["dropped"] > 0
        assert sum(told.values()) == 300

    def test_a_full_disk_stops_the_counting_only(self, tmp_path, monkeypatch):
        def full(*arguments):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "posix_fallocate", full)
        Counters(tmp_path).add("a")
        assert sums(tmp_path) == {}

    def test_nothing_counted_yet_is_nothing(self, tmp_path):
        assert sums(tmp_path / "none") == {}
