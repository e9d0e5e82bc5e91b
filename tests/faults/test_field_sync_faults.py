"""Batches of phones survive killed servers, five equal requests at once, and a link that is cut at every act."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.architecture.project import ROOT
from tests.faults.field_batches import ACTS, KILLS


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """What came of it, in a database of its own (a file: what is killed must find it again)."""
    folder = tmp_path_factory.mktemp("faults")
    environment = {**os.environ, "VAR_DIR": str(folder), "DATABASE_URL": f"sqlite:///{folder / 'field.sqlite3'}"}
    run = subprocess.run(
        [sys.executable, "-m", "tests.faults.field_batches"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert run.returncode == 0, run.stderr[-3000:]
    return json.loads(run.stdout)


def test_a_clean_run_takes_every_act(told):
    state = told["clean"]["state"]
    assert (state["acts"], state["receipts"], state["visit"]) == (ACTS, ACTS, ["finished", 90])


def test_killed_servers_lose_and_double_nothing(told):
    assert told["killed"]["deaths"] >= KILLS // 2
    assert told["killed"]["state"] == told["clean"]["state"]


def test_five_equal_requests_at_once_count_once(told):
    assert told["parallel"]["failures"] == 0
    assert told["parallel"]["state"] == told["clean"]["state"]


def test_a_link_cut_at_every_act_changes_nothing(told):
    assert told["cut"]["received_again"] == ACTS
    assert told["cut"]["state"] == told["clean"]["state"]
