"""A road service asked over a real connection: used, kept, doubted, done without. The service here is a fake on loopback.

Request and answer have the public shape of an open-source routing engine's table service (Project OSRM, osrm-backend,
docs/http.md, "Table service").
"""

from __future__ import annotations

import json
import threading
import time
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import pytest
from django.core.exceptions import ImproperlyConfigured

from deploy import environment
from scheduling.models import RoadLeg
from scheduling.rounds import Effort, Point, great_circle_km
from scheduling.services import plan_runs, replanning, travel
from scheduling.services.plan_runs import start_run, work_out_plan
from scheduling.services.rounds import lay_rounds
from scheduling.services.travel import ask_road_service, travel_between
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)
PLACES = {
    "yard 1": Point(latitude_deg=51.0, longitude_deg=-2.8),
    "site 1": Point(latitude_deg=51.05, longitude_deg=-2.82),
    "site 2": Point(latitude_deg=51.1, longitude_deg=-2.7),
}


class Roads(BaseHTTPRequestHandler):
    """Answers as the engine does: roads 1.5 times the straight line at 45 km/h, unless told to misbehave."""

    def do_GET(self):
        server = self.server
        server.asked.append(self.path)
        mood = server.moods.pop(0) if server.moods else "well"
        if mood == "slow":
            time.sleep(1.0)
        if mood == "elsewhere":
            self.send_response(302)
            self.send_header("Location", f"http://127.0.0.1:{server.server_port}/other/")
            self.end_headers()
            return
        status, body = {
            "well": (200, None),
            "slow": (200, None),
            "broken": (500, "oops"),
            "refuses": (400, json.dumps({"code": "NoTable", "message": "No table found"})),
            "nonsense": (200, "<html>hello</html>"),
            "huge": (200, " " * 5_000_000),
            "swapped": (200, None),
        }[mood]
        body = body if body is not None else json.dumps(self._table(0.1 if mood == "swapped" else 1.5))
        self.send_response(status)
        self.end_headers()
        try:
            self.wfile.write(body.encode())
        except OSError:
            return  # nobody waits for it any more

    def _table(self, circuity: float) -> dict:
        parts = urlsplit(self.path)
        points = []
        for pair in parts.path.rsplit("/", 1)[1].split(";"):
            longitude, latitude = (float(number) for number in pair.split(","))
            points.append(Point(latitude_deg=latitude, longitude_deg=longitude))
        asked = parse_qs(parts.query)
        every = ";".join(str(number) for number in range(len(points)))
        rows, columns = (
            [int(number) for number in asked.get(name, [every])[0].split(";")] for name in ("sources", "destinations")
        )
        km = [[great_circle_km(points[row], points[column]) * circuity for column in columns] for row in rows]
        return {
            "code": "Ok",
            "durations": [[each / 45 * 3600 for each in row] for row in km],
            "distances": [[each * 1000 for each in row] for row in km],
        }

    def log_message(self, *_):
        return


@pytest.fixture
def service(settings):
    server = ThreadingHTTPServer(("127.0.0.1", 0), Roads)
    server.asked, server.moods = [], []
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    settings.ROAD_MATRIX_URL = f"http://127.0.0.1:{server.server_port}"
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(autouse=True)
def house(time_machine, monkeypatch):
    time_machine.move_to("2027-01-11 07:00:00+00:00", tick=False)
    monkeypatch.setattr(replanning, "USUAL_EFFORT", Effort(seconds=None, iterations=40, seeds=(1,)))
    make.profile()


def test_without_a_service_drives_are_estimated(settings):
    settings.ROAD_MATRIX_URL = ""

    assert ask_road_service(PLACES) == ""
    assert travel_between(PLACES).notes == ("Travel times are estimates from straight distances.",)


def test_road_times_replace_the_estimate_and_say_so(service):
    assert ask_road_service(PLACES) == ""

    matrix = travel_between(PLACES)

    straight = great_circle_km(PLACES["yard 1"], PLACES["site 1"])
    assert matrix.km[0, 1] == pytest.approx(straight * 1.5, rel=1e-6)
    assert matrix.minutes[0, 1] == pytest.approx(straight * 1.5 / 45 * 60, abs=1)
    assert matrix.notes == ("6 of 6 travel times from the road service on 2027-01-11.",)
    assert service.asked[0].startswith("/table/v1/driving/-2.800000,51.000000;-2.820000,51.050000;")


def test_a_service_is_asked_once_for_each_drive(service, time_machine):
    ask_road_service(PLACES)
    ask_road_service(PLACES)
    assert len(service.asked) == 1
    assert RoadLeg.objects.count() == 6

    ask_road_service({**PLACES, "site 3": Point(latitude_deg=51.2, longitude_deg=-2.75)})
    assert RoadLeg.objects.count() == 12
    assert "sources=0" in service.asked[1]

    time_machine.shift(timedelta(days=200))
    ask_road_service(PLACES)
    assert RoadLeg.objects.filter(asked_on=date(2027, 7, 30)).count() == 6
    assert RoadLeg.objects.count() == 12


def test_a_garden_moved_on_the_map_is_asked_anew(service):
    ask_road_service(PLACES)
    moved = {**PLACES, "site 2": Point(latitude_deg=51.11, longitude_deg=-2.7)}

    assert "4 travel times are estimates" in " ".join(travel_between(moved).notes)
    ask_road_service(moved)
    assert travel_between(moved).notes[0].startswith("6 of 6")


@pytest.mark.parametrize(
    ("mood", "words"),
    [
        ("broken", "answered 500"),
        ("refuses", "'NoTable'"),
        ("nonsense", "is not JSON"),
        ("huge", "more than 4 MB"),
        ("elsewhere", "answered 302"),
    ],
)
def test_a_service_that_fails_is_named_and_done_without(service, mood, words):
    service.moods = [mood, mood]

    trouble = ask_road_service(PLACES)

    assert trouble.startswith("The road service")
    assert words in trouble
    assert not RoadLeg.objects.exists()
    assert travel_between(PLACES).leg("yard 1", "site 1") > 0
    assert all(not path.startswith("/other") for path in service.asked)


def test_a_second_try_mends_a_hiccup(service):
    service.moods = ["broken"]

    assert ask_road_service(PLACES) == ""
    assert len(service.asked) == 2


def test_a_slow_service_is_not_waited_for(service, monkeypatch):
    monkeypatch.setattr(travel, "TIMEOUT_SECONDS", 0.2)
    service.moods = ["slow", "slow"]

    began = time.monotonic()
    assert "gave no answer" in ask_road_service(PLACES) or "took too long" in ask_road_service(PLACES)
    assert time.monotonic() - began < 5


def test_no_service_at_the_address_is_said(settings):
    settings.ROAD_MATRIX_URL = "http://127.0.0.1:9"

    assert "could not be reached" in ask_road_service(PLACES)


def test_roads_shorter_than_the_straight_line_are_not_believed(service):
    service.moods = ["swapped"]
    ask_road_service(PLACES)

    matrix = travel_between(PLACES)

    assert "were not believed: check coordinates" in " ".join(matrix.notes)
    assert matrix.leg("yard 1", "site 1") >= 7


def test_a_plan_says_where_its_drives_come_from(service, monkeypatch):
    monkeypatch.setattr(plan_runs, "later", lambda *_, **__: None)
    crew = make_garden.crew(name="North")
    make_garden.visit(site=make_garden.site(latitude_deg=51.06), on=DAY, crew=crew, weather_rules=["D24"])
    question = {"kind": "rain", "day": DAY.isoformat()}

    plan = start_run(question=question)
    assert service.asked == [], "a page never waits for the service"
    work_out_plan(plan_id=plan.pk)
    plan.refresh_from_db()
    assert plan.offer["travel"] == ["2 of 2 travel times from the road service on 2027-01-11."]
    assert plan.offer["notes"] == []

    RoadLeg.objects.all().delete()
    service.moods = ["broken", "broken"]
    plan = start_run(question=question)
    work_out_plan(plan_id=plan.pk)
    plan.refresh_from_db()
    assert plan.offer["notes"] == ["The road service answered 500; estimates stand in for the drives it did not tell."]


def test_rounds_laid_by_a_command_ask_too(service):
    make_garden.crew(name="North")
    make_garden.visit(site=make_garden.site(latitude_deg=51.06), opens=DAY, best_from=DAY, best_until=DAY, closes=DAY)

    outcome = lay_rounds(first_day=DAY, last_day=DAY, effort=Effort(seconds=None, iterations=20, seeds=(1,)))

    assert outcome.plan.offer["travel"][0].startswith("2 of 2 travel times")


@pytest.mark.parametrize("value", ["ftp://roads.example.com", "roads.example.com", "http://", "http://a.example/?x=1"])
def test_a_wrong_address_stops_the_start_by_name(monkeypatch, value):
    monkeypatch.setenv("ROAD_MATRIX_URL", value)

    with pytest.raises(ImproperlyConfigured, match="ROAD_MATRIX_URL"):
        environment.web_address("ROAD_MATRIX_URL")


def test_the_last_slash_of_an_address_does_not_matter(monkeypatch):
    monkeypatch.setenv("ROAD_MATRIX_URL", "http://roads.example.com/eu/")

    assert environment.web_address("ROAD_MATRIX_URL") == "http://roads.example.com/eu"
