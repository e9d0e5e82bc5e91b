"""Redis, PostgreSQL, the clock and the disk fail under real processes: nothing lost, nothing twice, no gap."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.services.servers import ROOT

pytestmark = pytest.mark.services


@pytest.fixture(scope="module")
def told():
    run = subprocess.run(
        [sys.executable, "-m", "tests.faults.broken_services"], cwd=ROOT, capture_output=True, text=True, timeout=900
    )
    assert run.returncode == 0, run.stderr[-3000:]
    return json.loads(run.stdout)


class TestBroker:
    def test_what_is_finished_while_it_is_away_is_finished(self, told):
        assert told["broker"]["finished while away"] == ["finished"] * 3

    def test_a_forgetful_broker_loses_no_mail_and_no_report(self, told):
        assert told["broker"]["mails"] == told["broker"]["expected"] == 24

    def test_jobs_that_come_three_times_happen_once(self, told):
        assert told["broker"]["copies"] == [1]
        assert told["broker"]["charge sets"] == [1, 1, 1]


class TestDatabase:
    def test_restarts_lose_and_double_no_act(self, told):
        assert told["database"]["acts"] == told["database"]["expected"] == 600

    def test_restarts_leave_no_gap_between_invoices(self, told):
        found = told["database"]
        assert found["issued"] == found["numbers"] == found["last number"] == 12

    def test_whoever_asks_meanwhile_is_told_to_come_back(self, told):
        statuses = told["database"]["statuses"]
        assert statuses.get("503", 0) > 0, "the restarts were felt"
        assert set(statuses) <= {"200", "302", "503"}

    def test_the_web_processes_find_their_way_back(self, told):
        assert told["database"]["same processes"]


class TestClock:
    def test_a_stepped_clock_reminds_of_each_visit_once(self, told):
        clock = told["clock"]
        assert (clock["reminders"], clock["copies"]) == (2, [1, 1])
        assert clock["states"] == ["handed_over", "handed_over"]

    def test_each_is_told_on_the_day_before(self, told):
        moments = told["clock"]["moments"]
        assert moments["2026-10-25T01:30"] == 1, "at night, in the hour that comes twice, nothing is told"
        assert moments["2026-10-25T15:00"] == 2


class TestDisk:
    def test_a_full_disk_refuses_pictures_and_takes_ticks(self, told):
        disk = told["disk"]
        assert disk["pieces"][-1] == 507
        assert set(disk["pieces"]) <= {200, 507}
        assert disk["ticks"] == [200, 200]

    def test_no_half_picture_is_ever_seen(self, told):
        assert not told["disk"]["here while full"]
        assert told["disk"]["half pictures"] == []

    def test_with_room_again_the_picture_goes_on_where_it_stopped(self, told):
        disk = told["disk"]
        assert disk["resumed at"] > 0
        assert disk["here at last"]
        assert (disk["seen"], disk["files"], disk["parts left"]) == (200, 2, [])
